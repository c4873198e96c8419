//! Cautions at the vehicle: each by itself, until it was confirmed; reminders in one line.

use crate::cli::terminal::how::How;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::key::{self, CHANGE, Key, MENU, NOTHING_TO_UNDO, STOP_HERE};
use crate::cli::terminal::output::Output;
use crate::cli::terminal::past::Past;
use crate::cli::terminal::plain_word::{self, PlainWord};
use crate::model::caution::Rule;
use crate::model::caution::signal_word::SignalWord;
use crate::model::prompt::CautionId;
use crate::report::question::{flow, with_label};
use crate::report::table::{harmless, wrapped};
use crate::run::reply::Form;
use anstyle::{Ansi256Color, AnsiColor, Color, Style};

fn indented(output: &mut Output, text: &str) {
    let width = output.width();
    output.line(&wrapped(&harmless(text), width, "  ", "  "));
}

/// The colors of ANSI Z535 (from memory), beside the word and never instead of it.
const fn style_of(word: SignalWord) -> Style {
    let (letters, ground) = match word {
        SignalWord::Danger => (AnsiColor::BrightWhite, Color::Ansi256(Ansi256Color(160))),
        SignalWord::Warning => (AnsiColor::Black, Color::Ansi256(Ansi256Color(208))),
        SignalWord::Caution => (AnsiColor::Black, Color::Ansi256(Ansi256Color(220))),
        SignalWord::Notice => (AnsiColor::BrightWhite, Color::Ansi256(Ansi256Color(25))),
    };
    Style::new().fg_color(Some(Color::Ansi(letters))).bg_color(Some(ground)).bold()
}

/// One line for each caution that was confirmed before and is true again.
pub fn remind(rules: &[&Rule], output: &mut Output) {
    for rule in rules {
        let line = wrapped(&harmless(&rule.reminder()), output.width(), "", "  ");
        output.styled(style_of(rule.word()), &line);
    }
}

/// The word with its symbol before the hazard and what comes of it; then how to avoid it, on lines of its own.
fn show(rule: &Rule, output: &mut Output) {
    let word = rule.word();
    let head = format!("{}{word}", word.symbol());
    let avoid = rule.avoid.trim();
    let hazard: Vec<&str> = rule.sentences().into_iter().filter(|sentence| *sentence != avoid).collect();
    let text = wrapped(&harmless(&format!("{head}  {}", hazard.join(" "))), output.width(), "", "  ");
    output.headed(style_of(word), &head, &text);
    for sentence in [avoid, rule.defers_to.trim()].into_iter().filter(|sentence| !sentence.is_empty()) {
        indented(output, sentence);
    }
}

/// A line typed at a caution.
enum Typed {
    /// It was read.
    Confirmed,
    /// A name, or something that is nothing here.
    Text(String),
    /// A reply to the whole request.
    Form(Form),
    /// It was dealt with.
    Again,
}

/// Reads a caution's answer.
struct Reader<'a> {
    input: &'a mut Input,
    output: &'a mut Output,
    past: &'a Past,
}

impl Reader<'_> {
    fn indented(&mut self, text: &str) {
        indented(self.output, text);
    }

    fn tell(&mut self, text: &str) -> Typed {
        self.indented(text);
        Typed::Again
    }

    /// A line at a caution; `names`: a name is asked for.
    fn read(&mut self, prompt: &str, how: How, rule: &Rule, names: bool) -> Typed {
        let Some(text) = self.input.read(prompt, how, self.output) else { return Typed::Form(Form::Pause) };
        match Key::of(&text) {
            Some(Key::Plus) => return Typed::Confirmed,
            Some(Key::Undo) => return self.undo(),
            Some(Key::More) => return self.menu(rule),
            Some(Key::Skip) => return self.tell("A caution can't be skipped. .. has \"stop here: not safe\"."),
            Some(Key::NumLockOff) => return self.tell(key::NUM_LOCK),
            Some(Key::Half) | None => {}
        }
        match PlainWord::of(text.trim(), names, self.past.ids()) {
            Some(word) => self.word(word, rule),
            None => Typed::Text(text.trim().to_owned()),
        }
    }

    fn word(&mut self, word: PlainWord, rule: &Rule) -> Typed {
        match word {
            PlainWord::Pause => Typed::Form(Form::Pause),
            // With nothing to undo, confirmed cautions stay confirmed.
            PlainWord::Back(_) if self.past.is_empty() => self.tell(NOTHING_TO_UNDO),
            PlainWord::Back(to) => Typed::Form(Form::Back { to }),
            PlainWord::Why => self.tell(&format!("source: {}", rule.source)),
            PlainWord::Change(_) => self.tell("Change answers at a prompt, not at a caution."),
            PlainWord::Note(words) if words.is_empty() => self.note(),
            PlainWord::Note(words) => Typed::Form(Form::Note(words)),
            PlainWord::Skip(_) => self.tell("A caution can't be skipped. .. has \"stop here: not safe\"."),
            PlainWord::Help => self.help(),
        }
    }

    fn help(&mut self) -> Typed {
        let width = self.output.width();
        for (typed, what) in plain_word::help_at_a_caution() {
            let line = with_label(&format!("{typed:<10}"), what, width);
            self.output.line(&line);
        }
        Typed::Again
    }

    fn note(&mut self) -> Typed {
        match self.input.line("Note (Enter: none) > ", self.output) {
            None => Typed::Form(Form::Pause),
            Some(words) if words.trim().is_empty() => Typed::Again,
            Some(words) => Typed::Form(Form::Note(words.trim().to_owned())),
        }
    }

    fn undo(&mut self) -> Typed {
        let Some(last) = self.past.last() else { return self.tell(NOTHING_TO_UNDO) };
        self.indented(&format!("Undo {last}?"));
        match self.input.line("+ undoes it, Enter does not > ", self.output).as_deref().map(str::trim) {
            None => Typed::Form(Form::Pause),
            Some("+") => Typed::Form(Form::Back { to: None }),
            Some(_) => self.tell("Nothing was undone."),
        }
    }

    fn menu(&mut self, rule: &Rule) -> Typed {
        let entries: Vec<String> = MENU
            .iter()
            .filter(|(number, _)| *number != CHANGE)
            .chain([&STOP_HERE])
            .map(|(number, entry)| format!("{number} {entry}"))
            .collect();
        let drawn = flow("MORE", &entries, self.output.width());
        self.output.line(&drawn);
        let line = self.input.line("Number, or Enter: back to the caution > ", self.output);
        match line.as_deref().map(str::trim) {
            None | Some("5") => Typed::Form(Form::Pause),
            Some("") => Typed::Again,
            Some("1") => self.tell(&format!("source: {}", rule.source)),
            Some("2") => {
                let lines = self.past.lines();
                lines.iter().for_each(|line| self.indented(line));
                if lines.is_empty() { self.tell("Nothing is answered yet.") } else { Typed::Again }
            }
            Some("3") => self.note(),
            Some("4") => self.tell("Change answers at a prompt, not at a caution."),
            Some("6") => self.help(),
            Some("9") => Typed::Form(Form::Refused),
            Some(_) => self.tell("That is not in the menu."),
        }
    }
}

/// Tells these cautions one after the other, and waits for each that has to be confirmed. `confirmed` has those that were
/// before a note was written at one of them, and are not told again.
pub fn read(
    rules: &[&Rule],
    input: &mut Input,
    output: &mut Output,
    past: &Past,
    confirmed: &mut Vec<CautionId>,
) -> Form {
    let before = std::mem::take(confirmed);
    let mut reader = Reader { input, output, past };
    let mut qualified = None;
    for rule in rules {
        if before.contains(&rule.id) && !rule.qualified_person {
            confirmed.push(rule.id.clone());
            continue;
        }
        reader.output.begin_block();
        show(rule, reader.output);
        let mut how = How::Fresh;
        if rule.qualified_person {
            let named = loop {
                match reader.read("  Name of the qualified person (Enter alone: nobody): ", how, rule, true) {
                    Typed::Form(form) => return stopped(form, confirmed),
                    // The run ends, and says that nobody was named.
                    Typed::Text(name) if name.is_empty() => return Form::Acknowledged { qualified: None },
                    // Nobody is called `+` or `2`.
                    Typed::Text(name) if name.chars().any(char::is_alphabetic) => break name,
                    Typed::Again => {}
                    _ => reader.indented("Type the name; Enter alone ends the run, `pause` pauses it."),
                }
                how = How::AsItComes;
            };
            qualified = Some(named);
        }
        if !rule.word().needs_acknowledgement() {
            continue;
        }
        let says = if rule.confirm_text.is_empty() { "you have read it" } else { rule.confirm_text.trim() };
        let prompt = format!("+ {}   .. more > ", harmless(says));
        loop {
            match reader.read(&prompt, how, rule, false) {
                Typed::Confirmed => break,
                Typed::Form(form) => return stopped(form, confirmed),
                Typed::Text(_) => reader.indented("Type + and Enter to confirm it. .. more"),
                Typed::Again => {}
            }
            how = How::AsItComes;
        }
        confirmed.push(rule.id.clone());
    }
    confirmed.clear();
    Form::Acknowledged { qualified }
}

/// Only after a note the same cautions go on where they were.
fn stopped(form: Form, confirmed: &mut Vec<CautionId>) -> Form {
    if !matches!(form, Form::Note(_)) {
        confirmed.clear();
    }
    form
}
