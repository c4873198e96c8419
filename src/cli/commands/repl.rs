//! `repl`: a calculator that knows the trade.

use crate::cli::commands::run::person_of;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::typed_line::{self, Full, TypedLine};
use crate::model::answered_by::AnsweredBy;
use crate::model::clean::Clean;
use crate::model::record::Record;
use crate::report::entry::Tone;
use crate::report::record::standing_text;
use crate::report::table::wrapped;
use crate::run::answerer::Answering;
use crate::run::journal::Nowhere;
use crate::run::session::Session;
use crate::script::complete::candidates;
use crate::script::console::{Console, Opened, Said};
use crate::script::execute::{EntryPoint, Outcome, execute};
use crate::shop::builtin;
use crate::shop::loaded::Loaded;
use crate::shop::settings::Settings;
use etcetera::{AppStrategy, AppStrategyArgs, choose_app_strategy};
use rustyline::completion::{Completer, Pair};
use rustyline::error::ReadlineError;
use rustyline::highlight::{CmdKind, Highlighter};
use rustyline::hint::Hinter;
use rustyline::history::FileHistory;
use rustyline::validate::{ValidationContext, ValidationResult, Validator};
use rustyline::{CompletionType, Config, Context, Editor, Helper};
use std::borrow::Cow;
use std::cell::RefCell;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::{Arc, Mutex};

/// Opens the prompt.
pub fn repl(settings: &Settings, output: &mut Output) -> Result<Exit, CliError> {
    let (shop, width) = (settings.shop.clone(), output.width());
    let procedure_names = [shop.names("procedures", "rhai"), builtin::procedure_names()].concat();
    let circuit_names = [shop.names("circuits", "toml"), builtin::circuit_names()].concat();
    let find = move |name: &str| {
        let (_, source) = shop.circuit(name).map_err(|error| error.to_string())?;
        crate::shop::circuits::parse_anew(&source).map(Arc::new).map_err(|error| error.to_string())
    };
    let shop = settings.shop.clone();
    let library = move |name: &str| shop.library(name);
    let settings = settings.clone();
    let loaded: Mutex<Option<Arc<Loaded>>> = Mutex::new(None);
    let procedures = move |given: Option<&str>| -> Result<Opened, String> {
        let mut loaded = loaded.lock().map_err(|_| "the procedure was left locked".to_owned())?;
        match given {
            Some(name) => {
                let found = Loaded::find(&settings, name).map_err(|error| error.to_string())?;
                let mut names: Vec<String> = found.procedure.prompt_ids().literal.into_iter().collect();
                if let Some(points) = &found.points {
                    names.extend(points.ends.keys().cloned());
                }
                let text = format!(
                    "{}; step_through() asks its questions, and keeps no record",
                    crate::cli::commands::run::heading(&found)
                );
                *loaded = Some(Arc::new(found));
                Ok(Opened { text, names })
            }
            None => {
                let found = loaded.clone().ok_or("load a procedure first: load(\"flap_sensor\")")?;
                drop(loaded);
                step_through(&settings, &found, width).map(|text| Opened { text, names: vec![] })
            }
        }
    };
    let console = Console::new()
        .with_procedures(Arc::new(find), Arc::new(procedures))
        .with_libraries(Arc::new(library))
        .with_names(procedure_names, circuit_names);
    let console = Rc::new(RefCell::new(console));
    console.borrow_mut().on_print(move |text| Output::new(Some(width)).line(text));
    if std::io::stdin().is_terminal() { terminal(output, &console) } else { Ok(piped(output, &console)) }
}

/// Runs the loaded procedure with a person, and keeps nothing.
fn step_through(settings: &Settings, loaded: &Loaded, width: usize) -> Result<String, String> {
    let person = person_of(settings, false, loaded, Input::open(), &Output::new(Some(width)));
    let clock = settings.clock.clone();
    let parts = loaded.parts(
        Box::new(Nowhere),
        (Box::new(person), Answering::in_person(AnsweredBy::Person)),
        Box::new(clock),
        Arc::default(),
    );
    let mut started = loaded.procedure.started(AnsweredBy::Person);
    started.clock_set_by_hand = settings.clock.is_by_hand();
    let session = Session::start(parts, started).map_err(|stop| format!("{stop:?}"))?;
    let finished = execute(&loaded.procedure, EntryPoint::Body, session, loaded.points.clone());
    match finished.outcome {
        Outcome::Failed(diagnostic) => Err(diagnostic.title),
        Outcome::Paused => Ok("stopped; nothing is kept".to_owned()),
        // The cause was just shown, to let it stand.
        Outcome::Concluded(_) => Ok("concluded; nothing is kept".to_owned()),
        _ => Ok(Record::of(&finished.entries).map(|record| standing_text(&record.status)).unwrap_or_default()),
    }
}

/// Plain results, one a line; the exit code tells whether there was an error.
fn piped(output: &mut Output, console: &Rc<RefCell<Console>>) -> Exit {
    let mut exit = Exit::Done;
    let mut waiting = String::new();
    loop {
        // Held no longer than a line lasts: a procedure that is stepped through reads its answers from the same input.
        let line = match typed_line::read(&mut std::io::stdin().lock()) {
            Ok(Some(TypedLine::Whole(line))) => line,
            Ok(Some(TypedLine::TooLong)) => {
                output.note(&format!("error: {}", typed_line::too_long()));
                exit = Exit::Input;
                continue;
            }
            Ok(None) | Err(_) => break,
        };
        if waiting.len() > typed_line::LONGEST {
            output.note("error: a bracket is open for longer than a line may be: look where it should be closed");
            exit = Exit::Input;
            waiting.clear();
        }
        if !waiting.is_empty() {
            waiting.push('\n');
        }
        waiting.push_str(&line);
        match said(console, &waiting) {
            None => return exit,
            Some(Said::Incomplete) => continue,
            // A result stays on its line; only what is written to be read is folded.
            Some(said) => answer(output, said, &mut exit),
        }
        waiting.clear();
    }
    if !waiting.trim().is_empty() {
        output.note("error: the input ends in the middle of something: a bracket is open");
        exit = Exit::Input;
    }
    exit
}

/// What the prompt says to a line; nothing where it is a word to leave with.
fn said(console: &Rc<RefCell<Console>>, line: &str) -> Option<Said> {
    match line.trim() {
        "exit" | "quit" => None,
        "help" => Some(console.borrow_mut().say("help()")),
        line if asked_for_help(line).is_some() => {
            let name = asked_for_help(line).unwrap_or_default();
            Some(console.borrow_mut().say(&format!("help(\"{name}\")")))
        }
        _ => Some(console.borrow_mut().say(line)),
    }
}

/// What help is asked for, without the brackets of the language: `help read`, `help "read"`.
fn asked_for_help(line: &str) -> Option<&str> {
    let name = line.strip_prefix("help ")?.trim().trim_matches('"');
    name.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | ' ')).then_some(name)
}

fn answer(output: &mut Output, said: Said, exit: &mut Exit) {
    match said {
        Said::Help(text) => {
            let text = folded_help(&text, output.width());
            output.toned(Tone::Good, &text);
        }
        Said::Result(text) => output.toned(Tone::Good, &text),
        Said::Nothing | Said::Incomplete => {}
        Said::Wrong(problem) => {
            *exit = Exit::Input;
            output.diagnostic(&problem);
        }
    }
}

fn history_file() -> Option<PathBuf> {
    let strategy = choose_app_strategy(AppStrategyArgs {
        top_level_domain: "org".to_owned(),
        author: "ohmwright".to_owned(),
        app_name: "ohmwright".to_owned(),
    })
    .ok()?;
    let folder = strategy.state_dir().unwrap_or_else(|| strategy.data_dir());
    fs_err::create_dir_all(&folder).ok()?;
    Some(folder.join("history"))
}

fn terminal(output: &mut Output, console: &Rc<RefCell<Console>>) -> Result<Exit, CliError> {
    let config = Config::builder().completion_type(CompletionType::List).auto_add_history(true).build();
    let mut editor: Editor<Words, FileHistory> =
        Editor::with_config(config).map_err(|error| CliError::Files(error.to_string()))?;
    let (event, full) = Full::binding();
    editor.bind_sequence(event, full);
    let color = anstream::AutoStream::choice(&std::io::stdout()) != anstream::ColorChoice::Never;
    editor.set_helper(Some(Words { console: Rc::clone(console), color }));
    let history = history_file();
    if let Some(history) = &history {
        // The first time there is none.
        let _ = editor.load_history(history);
    }
    output.line("A line of the language, `help()` for what there is, Ctrl-D to leave.");
    let mut ignored = Exit::Done;
    loop {
        match editor.readline("ohm> ") {
            Ok(line) => {
                match said(console, &line) {
                    None => return Ok(Exit::Done),
                    Some(Said::Result(text)) => {
                        let text = text.lines().map(|line| wrapped(line, output.width(), "", "")).collect::<Vec<_>>();
                        output.toned(Tone::Good, &text.join("\n"));
                    }
                    Some(said) => answer(output, said, &mut ignored),
                }
                if let Some(history) = &history {
                    let _ = editor.append_history(history);
                }
            }
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => return Ok(Exit::Done),
            Err(error) => return Err(CliError::Files(error.to_string())),
        }
    }
}

/// Help in lines that fit the screen, each as far in as it was; an entry of a list, and how a function is called,
/// go further in where they go on.
fn folded_help(text: &str, width: usize) -> String {
    let fold = |line: &str| {
        let indent = &line[..line.len() - line.trim_start().len()];
        let further = match (line.contains('\u{2192}'), indent.is_empty()) {
            (true, _) => "    ",
            (false, false) => "  ",
            (false, true) => "",
        };
        let rest = format!("{indent}{further}");
        wrapped(line.trim_start(), width, indent, &rest)
    };
    text.lines().map(fold).collect::<Vec<_>>().join("\n")
}

/// Completion, colors and the question whether a line is whole.
struct Words {
    console: Rc<RefCell<Console>>,
    color: bool,
}

impl Helper for Words {}
impl Hinter for Words {
    type Hint = String;
}

impl Validator for Words {
    fn validate(&self, context: &mut ValidationContext<'_>) -> rustyline::Result<ValidationResult> {
        let console = self.console.borrow();
        Ok(if console.is_incomplete(context.input()) {
            ValidationResult::Incomplete
        } else {
            ValidationResult::Valid(None)
        })
    }
}

impl Completer for Words {
    type Candidate = Pair;

    fn complete(&self, line: &str, position: usize, _: &Context<'_>) -> rustyline::Result<(usize, Vec<Pair>)> {
        let (start, names) = candidates(&self.console.borrow(), line.get(..position).unwrap_or(line));
        let pairs =
            names.into_iter().map(|name| Pair { display: Clean::line(&name).into(), replacement: name }).collect();
        Ok((start, pairs))
    }
}

impl Highlighter for Words {
    fn highlight<'l>(&self, line: &'l str, _: usize) -> Cow<'l, str> {
        if !self.color || line.is_empty() {
            return Cow::Borrowed(line);
        }
        let console = self.console.borrow();
        let words = console.words();
        let mut out = String::with_capacity(line.len() * 2);
        let mut rest = line;
        while let Some(first) = rest.chars().next() {
            let length = if first == '"' {
                rest[1..].find('"').map_or(rest.len(), |end| end + 2)
            } else if first.is_alphanumeric() || first == '_' {
                rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len())
            } else {
                first.len_utf8()
            };
            let (word, next) = rest.split_at(length);
            let style = if first == '"' {
                anstyle::AnsiColor::Yellow.on_default()
            } else if first.is_ascii_digit() {
                anstyle::AnsiColor::Cyan.on_default()
            } else if words.iter().any(|known| known == word) {
                anstyle::AnsiColor::Blue.on_default().bold()
            } else {
                anstyle::Style::new()
            };
            out.push_str(&format!("{style}{word}{style:#}"));
            rest = next;
        }
        Cow::Owned(out)
    }

    fn highlight_prompt<'b, 's: 'b, 'p: 'b>(&'s self, prompt: &'p str, _: bool) -> Cow<'b, str> {
        if self.color { Cow::Owned(format!("\u{1b}[1m{prompt}\u{1b}[0m")) } else { Cow::Borrowed(prompt) }
    }

    fn highlight_char(&self, _: &str, _: usize, _: CmdKind) -> bool {
        self.color
    }
}
