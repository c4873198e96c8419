//! A person at the vehicle: dirty hands, bad light, every key costs.

use super::input::Input;
use super::output::Output;
use crate::model::caution::{Rule, SignalWord};
use crate::model::doubt::Doubt;
use crate::model::event::{AnsweredBy, Entry, Event};
use crate::model::meter::Function;
use crate::model::points::Points;
use crate::model::prompt::{Answer, Ends, Prompt, PromptId, Question};
use crate::model::record::SweepReading;
use crate::model::sweep;
use crate::model::typed::{self, Shown};
use crate::model::vehicle::{Action, VehicleState};
use crate::model::words;
use crate::report::action;
use crate::report::entry::{self, Tone, limits_text};
use crate::report::record::sweep_text;
use crate::report::table::{fits, harmless, table, wrapped};
use crate::run::answerer::{Answerer, Heeded, Reply, View};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The key that says a caution was read; nothing else uses it there.
pub const READ_KEY: &str = "+";

/// A person at a terminal or behind a pipe.
pub struct Person {
    input: Input,
    output: Output,
    steps: usize,
    step: usize,
    step_shown: String,
    why: String,
    replaying: bool,
    prompt_shown: Option<PromptId>,
    /// Ids that `back` can go to.
    answered: BTreeSet<String>,
    points: Option<Arc<Points>>,
    /// The readings of the sweep that is being taken.
    sweep: Vec<SweepReading>,
    bench: bool,
}

enum Typed {
    Reply(Reply),
    Again,
}

/// One of the plain words, which stand for themselves at every prompt.
enum Word {
    Why,
    Help,
    Pause,
    /// With the id, where one was typed.
    Back(Option<String>),
    /// With the reason, or empty.
    Skip(String),
    /// With the words, or empty.
    Note(String),
}

impl Person {
    /// `steps` is how many headings the procedure has at most.
    pub fn new(input: Input, width: usize, steps: usize) -> Self {
        Self {
            input,
            output: Output::new(Some(width)),
            steps,
            step: 0,
            step_shown: String::new(),
            why: String::new(),
            replaying: false,
            prompt_shown: None,
            answered: BTreeSet::new(),
            points: None,
            sweep: Vec::new(),
            bench: false,
        }
    }

    /// The same, told in the circuit's words where things are.
    pub fn with_points(mut self, points: Option<Arc<Points>>) -> Self {
        self.points = points;
        self
    }

    /// The same, with a simulated circuit that answers when Enter is pressed.
    pub fn at_bench(mut self) -> Self {
        self.bench = true;
        self
    }

    /// The same, about to go through what was recorded.
    pub fn resuming(mut self) -> Self {
        self.replaying = true;
        self
    }

    fn say(&mut self, text: &str) {
        let width = self.output.width();
        self.output.line(&wrapped(&harmless(text), width, "", ""));
    }

    fn indented(&mut self, text: &str) {
        let width = self.output.width();
        self.output.line(&wrapped(&harmless(text), width, "  ", "  "));
    }

    /// Which of the plain words was typed, if one. At a note, where all else is text, a word with something behind it is text,
    /// too, but for `skip` and a reason, and `back` and the id of an answer.
    fn word_of(&self, typed: &str, free_text: bool) -> Option<Word> {
        let (word, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let rest = rest.trim();
        let alone = rest.is_empty();
        match word.to_lowercase().as_str() {
            "why" if alone => Some(Word::Why),
            "help" | "?" if alone => Some(Word::Help),
            "pause" if alone => Some(Word::Pause),
            "back" if alone => Some(Word::Back(None)),
            "back" if !free_text || self.answered.contains(rest) => Some(Word::Back(Some(rest.to_owned()))),
            "skip" => Some(Word::Skip(rest.to_owned())),
            "note" if alone || !free_text => Some(Word::Note(rest.to_owned())),
            _ => None,
        }
    }

    /// What was typed: an answer, or one of the plain words.
    fn understand(&mut self, text: String, options: &[String], free_text: bool) -> Typed {
        let trimmed = text.trim();
        if options.iter().any(|option| option.eq_ignore_ascii_case(trimmed)) {
            return Typed::Reply(Reply::Text(text));
        }
        let quoted = trimmed.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).filter(|_| free_text);
        if let Some(quoted) = quoted.filter(|quoted| self.word_of(quoted.trim(), free_text).is_some()) {
            return Typed::Reply(Reply::Text(quoted.to_owned()));
        }
        match self.word_of(trimmed, free_text) {
            Some(Word::Why) => {
                let why = if self.why.is_empty() {
                    "The procedure gives no reason for this step.".into()
                } else {
                    self.why.clone()
                };
                self.indented(&why);
                Typed::Again
            }
            Some(Word::Help) => {
                self.help(free_text);
                Typed::Again
            }
            Some(Word::Back(to)) => Typed::Reply(Reply::Back { to }),
            Some(Word::Pause) => Typed::Reply(Reply::Pause),
            Some(Word::Skip(reason)) => self.rest_of(reason, "  why is it skipped? ", |reason| Reply::Skip { reason }),
            Some(Word::Note(note)) => self.rest_of(note, "  note: ", Reply::Note),
            None => Typed::Reply(Reply::Text(text)),
        }
    }

    /// What belongs to a word: typed behind it, or asked for.
    fn rest_of(&mut self, rest: String, prompt: &str, reply: impl FnOnce(String) -> Reply) -> Typed {
        let rest = if rest.is_empty() { self.input.line(prompt, &mut self.output) } else { Some(rest) };
        match rest {
            None => Typed::Reply(Reply::Pause),
            Some(rest) if rest.trim().is_empty() => Typed::Again,
            Some(rest) => Typed::Reply(reply(rest.trim().to_owned())),
        }
    }

    fn help(&mut self, free_text: bool) {
        let common = [
            ("why", "why this step is there"),
            ("back", "take the last answer back, in a sweep its last reading; `back ID` goes further back"),
            ("skip …", "leave this one out, and say why"),
        ];
        let note = if free_text { "note" } else { "note …" };
        let further = [(note, "write something down"), ("pause", "put it down; `ohmwright resume` goes on")];
        let here: &[(&str, &str)] = if free_text {
            &[("\"skip …\"", "in quotation marks: text that begins with one of these words")]
        } else {
            &[
                ("OL or *", "the meter shows over range"),
                ("370m, 1.2M", "a number with its prefix; a number alone is in the unit shown"),
            ]
        };
        let rows: Vec<Vec<String>> = common
            .iter()
            .chain(&further)
            .chain(here)
            .map(|(word, meaning)| vec![(*word).to_owned(), (*meaning).to_owned()])
            .collect();
        let drawn = table(self.output.width(), &["type", "to"], &rows, &[]);
        self.output.line(&drawn);
    }

    fn ask(&mut self, prompt: &str, options: &[String], free_text: bool) -> Reply {
        loop {
            let Some(text) = self.input.line(prompt, &mut self.output) else { return Reply::Pause };
            match self.understand(text, options, free_text) {
                Typed::Reply(reply) => return reply,
                Typed::Again => {}
            }
        }
    }

    /// The question with its leads and limits; only its line when it is asked again.
    fn show_prompt(&mut self, prompt: &Prompt) {
        if self.prompt_shown.as_ref() == Some(&prompt.id) {
            return;
        }
        self.prompt_shown = Some(prompt.id.clone());
        self.output.line("");
        let width = self.output.width();
        let words = wrapped(&harmless(&prompt.text), width, "", "  ");
        let bold = anstyle::Style::new().bold();
        self.output.line(&format!("{bold}{words}{bold:#}"));
        if let Some(leads) = prompt.question.leads() {
            self.show_leads(leads, prompt.question.function());
        }
        let limits = limits_text(&prompt.question);
        if !limits.is_empty() {
            let source = match &prompt.question {
                Question::Reading { limits, .. }
                | Question::ModuleValue { limits, .. }
                | Question::LowestHighest { limits, .. } => limits.source.clone(),
                Question::Sweep { ends, .. } => ends.source.clone(),
                _ => None,
            };
            let from = source.map(|source| format!("  [{source}]")).unwrap_or_default();
            let judged = !limits.starts_with("no limits");
            self.indented(&format!("{}{limits}{from}", if judged { "should be " } else { "" }));
        }
        if let Question::Choice { options } = &prompt.question {
            for (index, option) in options.iter().enumerate() {
                self.indented(&format!("{}  {option}", index + 1));
            }
        }
    }

    /// Keeps up with what there is to go back to, and with the sweep that is being taken.
    fn follow(&mut self, event: &Event) {
        match event {
            Event::StepBegan { .. } | Event::Struck { reading: None, .. } => self.sweep.clear(),
            Event::SweepRead { text, position, .. } => {
                self.sweep.push(SweepReading { text: text.clone(), position: position.clone() });
            }
            Event::Struck { reading: Some(_), .. } => _ = self.sweep.pop(),
            Event::Answered { prompt, .. } => _ = self.answered.insert(prompt.id.to_string()),
            _ => {}
        }
    }

    /// A moving part in the circuit's words.
    fn moved(&self, part: &str) -> String {
        let words = self.points.as_ref().and_then(|points| points.movable.get(part));
        harmless(words.map_or(part, String::as_str))
    }

    fn show_entry(&mut self, entry: &Entry) {
        let line = match &entry.event {
            Event::Acted { action, already } => {
                let sentence = action::sentence(action, self.points.as_deref());
                Some((Tone::Plain, format!("{}: {sentence}", if *already { "Already so" } else { "Done" })))
            }
            _ => entry::line(entry),
        };
        if let Some((tone, text)) = line {
            let width = self.output.width();
            self.output.toned(tone, &wrapped(&text, width, "  ", "    "));
        }
    }

    fn show_leads(&mut self, leads: &crate::model::prompt::Leads, function: Option<Function>) {
        let ends = leads.ends();
        if ends.is_empty() {
            return;
        }
        let all = ["lead", "to", "pin", "wire", "where"];
        let cells: Vec<[String; 5]> = ends
            .iter()
            .map(|(lead, end)| {
                let pin = if action::point_says_more(end) { end.point.as_deref() } else { None };
                [Some(*lead), Some(end.name.as_str()), pin, end.wire.as_deref(), end.place.as_deref()]
                    .map(|text| harmless(text.unwrap_or("")))
            })
            .collect();
        // A column in which nothing stands only makes the others narrow.
        let columns: Vec<usize> =
            (0..all.len()).filter(|column| cells.iter().any(|row| !row[*column].is_empty())).collect();
        let heading: Vec<&str> = columns.iter().map(|column| all[*column]).collect();
        let rows: Vec<Vec<String>> =
            cells.iter().map(|row| columns.iter().map(|column| row[*column].clone()).collect()).collect();
        if let Some(function) = function {
            self.indented(&format!("meter on {}", function_words(function)));
        }
        let width = self.output.width();
        if fits(width, &heading, &rows) {
            self.output.line(&table(width, &heading, &rows, &[]));
        } else {
            for (lead, end) in ends {
                let place = harmless(&format!("{lead} to {}", action::place(end)));
                self.output.line(&wrapped(&place, width, "  ", "    "));
            }
        }
    }

    fn unit_prompt(&self, prompt: &Prompt) -> String {
        if self.bench && !matches!(prompt.question, Question::YesNo | Question::Choice { .. } | Question::Note) {
            let module = matches!(prompt.question, Question::ModuleValue { .. });
            return if module { "  Enter reads the module > " } else { "  Enter puts the leads there > " }.to_owned();
        }
        match prompt.question.unit() {
            Some(unit) if !unit.to_string().is_empty() => format!("{unit} > "),
            _ => match prompt.question {
                Question::YesNo => "1 yes, 2 no > ".to_owned(),
                Question::Choice { .. } => "number > ".to_owned(),
                _ => "> ".to_owned(),
            },
        }
    }
}

/// How a sweep went, and how that catches the eye.
fn sweep_words(readings: &[SweepReading], ends: &Ends) -> (Tone, String) {
    let shown: Vec<Shown> = readings.iter().filter_map(|reading| typed::read(&reading.text, ends.unit).ok()).collect();
    let follows = sweep::Track::of(&shown, ends).shape == sweep::Shape::Follows;
    (if follows { Tone::Good } else { Tone::Bad }, sweep_text(readings, ends))
}

/// What a meter is switched to, in words.
pub fn function_words(function: Function) -> &'static str {
    match function {
        Function::Volts => "volts DC",
        Function::Amperes => "amperes DC",
        Function::Ohms => "ohms",
        Function::Diode => "diode test",
        Function::Hertz => "hertz",
        Function::Duty => "duty, in %",
        Function::Temperature => "temperature",
        Function::Time => "time",
    }
}

impl Answerer for Person {
    fn answered_by(&self) -> AnsweredBy {
        AnsweredBy::Person
    }

    fn step(&mut self, view: View<'_>) {
        if self.step_shown != view.step {
            self.step += 1;
            self.step_shown = view.step.to_owned();
        }
        let of = if self.steps >= self.step { format!(" of up to {}", self.steps) } else { String::new() };
        let heading = format!("Step {}{of}: {}", self.step, harmless(view.step));
        let width = self.output.width();
        let rule = "─".repeat(width);
        let bold = anstyle::Style::new().bold();
        self.output.line("");
        self.output.line(&rule);
        let heading = wrapped(&heading, width, "", "  ");
        self.output.line(&format!("{bold}{heading}{bold:#}"));
        if !view.near.is_empty() {
            let near: Vec<_> = view.near.iter().map(|zone| zone.as_str().replace('_', " ")).collect();
            self.indented(&format!("near: {}", words::all(&near)));
        }
        self.why.clear();
        self.why.push_str(view.why);
    }

    fn why(&mut self, text: &str) {
        self.why.clear();
        self.why.push_str(text);
    }

    fn remark(&mut self, text: &str) {
        self.indented(text);
    }

    fn caution(&mut self, rules: &[&Rule]) -> Heeded {
        let mut qualified = None;
        for rule in rules {
            let tone = match rule.word {
                SignalWord::Danger | SignalWord::Warning => Tone::Bad,
                SignalWord::Caution | SignalWord::Notice => Tone::Doubtful,
            };
            self.output.line("");
            // The alert symbol belongs to the words about injury, not to a notice.
            let symbol = if rule.word == SignalWord::Notice { "" } else { "⚠ " };
            self.output.toned(tone, &format!("{symbol}{}", rule.word));
            self.indented(&rule.text);
            self.indented(&rule.defers_to);
            if rule.qualified_person {
                match self.input.line("  Name of the qualified person (Enter alone: nobody): ", &mut self.output) {
                    None => return Heeded::Pause,
                    Some(name) if name.trim().is_empty() => return Heeded::Refused,
                    Some(name) => qualified = Some(name.trim().to_owned()),
                }
            }
            if !rule.word.needs_acknowledgement() {
                continue;
            }
            loop {
                let prompt = format!("  Read it? {READ_KEY} and Enter > ");
                match self.input.line(&prompt, &mut self.output) {
                    None => return Heeded::Pause,
                    Some(text) if text.trim() == READ_KEY => break,
                    Some(text) if text.trim().eq_ignore_ascii_case("pause") => return Heeded::Pause,
                    Some(_) => self.indented("Only + says that it was read; `pause` puts the run down."),
                }
            }
        }
        Heeded::Read { qualified }
    }

    fn act(&mut self, action: &Action, _view: View<'_>) -> Reply {
        self.output.line("");
        let width = self.output.width();
        let words = wrapped(&action::sentence(action, self.points.as_deref()), width, "→ ", "  ");
        self.output.line(&words);
        for place in action::places(action, self.points.as_deref()) {
            self.output.line(&wrapped(&place, width, "    ", "      "));
        }
        loop {
            match self.ask("  Enter when done > ", &[], false) {
                Reply::Text(text) if !text.trim().is_empty() => {
                    self.indented("Enter alone says that it is done; `help` lists what else can be typed.");
                }
                reply => return reply,
            }
        }
    }

    fn answer(&mut self, prompt: &Prompt, _view: View<'_>) -> Reply {
        self.show_prompt(prompt);
        let options = match &prompt.question {
            Question::Choice { options } => options.clone(),
            _ => vec![],
        };
        if matches!(prompt.question, Question::LowestHighest { .. }) && !self.bench {
            self.indented("type the lowest, a space, the highest");
        }
        self.ask(&self.unit_prompt(prompt), &options, matches!(prompt.question, Question::Note))
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], _view: View<'_>) -> Reply {
        let Question::Sweep { ends, moving, .. } = &prompt.question else { return Reply::Nobody };
        // Taken up in the middle of it, it is shown with what is still to be done.
        let shown_before = self.prompt_shown.as_ref() == Some(&prompt.id);
        self.show_prompt(prompt);
        if so_far.is_empty() && self.bench {
            return self.ask(&format!("  Enter moves {} > ", self.moved(moving)), &[], false);
        }
        if so_far.is_empty() || !shown_before {
            let moving = self.moved(moving);
            self.indented(&format!("move: {moving}; one reading a line, or all with spaces between; Enter alone ends"));
        } else {
            let numbers: Vec<Option<f64>> = so_far
                .iter()
                .map(|reading| match typed::read(&reading.text, ends.unit) {
                    Ok(Shown::Value(value)) => Some(value.si()),
                    _ => None,
                })
                .collect();
            if sweep::turns(&numbers).last().is_some_and(|turn| turn + 2 == numbers.len()) {
                self.indented("turned");
            }
        }
        let unit = ends.unit;
        let prompt = format!("{} {unit} > ", so_far.len() + 1);
        self.ask(&prompt, &[], false)
    }

    fn refused(&mut self, problem: &str) -> bool {
        let width = self.output.width();
        self.output.toned(Tone::Doubtful, &wrapped(&harmless(problem), width, "  ", "  "));
        true
    }

    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt, _view: View<'_>) -> Reply {
        if self.prompt_shown.as_ref() != Some(&prompt.id) {
            self.show_prompt(prompt);
        }
        let shown = match prompt.question.unit() {
            Some(unit) if typed::is_bare(typed) => unit.with_symbol(typed.trim()),
            _ => typed.trim().to_owned(),
        };
        let width = self.output.width();
        let text = wrapped(&harmless(&format!("{shown}: {doubt}")), width, "  ", "  ");
        self.output.toned(Tone::Doubtful, &text);
        let unit = match prompt.question.unit() {
            Some(unit) => format!("{unit} > "),
            None => "> ".to_owned(),
        };
        self.ask(&format!("Enter keeps it, or type it again; {unit}"), &[], false)
    }

    fn recorded(&mut self, entry: &Entry, replayed: bool) {
        self.follow(&entry.event);
        if replayed {
            if self.replaying {
                self.show_entry(entry);
            }
            if let Event::StepBegan { title, .. } = &entry.event {
                self.step += 1;
                self.step_shown = title.clone();
            }
            return;
        }
        match &entry.event {
            Event::Answered { prompt, answer, verdict, carried } => {
                if *carried {
                    self.show_entry(entry);
                } else if let (Question::Note, Answer::Skipped { reason }) = (&prompt.question, answer) {
                    // Where it could have been meant as text, it is seen.
                    self.indented(&format!("left out: {reason}"));
                } else if let (Question::Sweep { ends, .. }, Answer::Sweep { .. }) = (&prompt.question, answer) {
                    let (tone, words) = sweep_words(&self.sweep, ends);
                    let width = self.output.width();
                    self.output.toned(tone, &wrapped(&harmless(&words), width, "  ", "  "));
                } else if let Some(verdict) = verdict {
                    self.output.toned(entry::verdict_tone(Some(*verdict)), &format!("  {verdict}"));
                }
            }
            Event::Acted { already: true, .. } | Event::Noted { .. } => {
                self.show_entry(entry);
            }
            Event::Struck { id, reading: Some(reading), .. } => {
                self.indented(&format!("the reading {reading} of `{id}` is taken back"));
            }
            Event::Struck { id, .. } => {
                self.say(&format!(
                    "`{id}` and all later answers are taken back; what was done at the vehicle stays done."
                ));
                self.step = 0;
                self.step_shown.clear();
                self.prompt_shown = None;
                self.replaying = false;
            }
            _ => {}
        }
    }

    fn live(&mut self) {
        self.replaying = false;
    }

    fn vehicle_was_seen(&self) -> bool {
        true
    }

    fn confirm_vehicle(&mut self, left: &VehicleState) -> Option<VehicleState> {
        self.output.line("");
        self.say("The vehicle, as the record left it. Look before you trust it:");
        super::start::confirm_state(&mut self.input, &mut self.output, left)
    }
}
