//! A person at the vehicle: dirty hands, bad light, every key costs.

use crate::cli::terminal::cautions;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::plain_word::{self, PlainWord};
use crate::cli::terminal::wait::{self, Wait};
use crate::model::doubt::Doubt;
use crate::model::event::NamedCause;
use crate::model::points::Points;
use crate::model::prompt::{Prompt, PromptId, Question};
use crate::model::record::SweepReading;
use crate::model::sweep;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use crate::model::vehicle::{Action, Engine, VehicleState};
use crate::model::words;
use crate::report::action;
use crate::report::entry::Tone;
use crate::report::prompt_card::{At, PromptCard};
use crate::report::question;
use crate::report::table::{harmless, table, wrapped};
use crate::run::answerer::Answerer;
use crate::run::notice::Notice;
use crate::run::reply::{Form, Reply};
use crate::run::request::Request;
use crate::run::view::View;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A person at a terminal or behind a pipe.
pub struct Person {
    pub(super) input: Input,
    pub(super) output: Output,
    pub(super) steps: usize,
    pub(super) step: usize,
    pub(super) step_shown: String,
    pub(super) why: String,
    pub(super) replaying: bool,
    pub(super) prompt_shown: Option<PromptId>,
    /// Ids that `back` can go to.
    pub(super) answered: BTreeSet<PromptId>,
    pub(super) points: Option<Arc<Points>>,
    /// The readings of the sweep that is being taken.
    pub(super) sweep: Vec<SweepReading>,
    pub(super) bench: bool,
    /// The wait that is asked for next, or that lasts: its seconds, and when it ends.
    pub(super) wait: Option<Wait>,
}

enum Typed {
    Form(Form),
    Again,
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
            wait: None,
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

    pub(super) fn say(&mut self, text: &str) {
        let width = self.output.width();
        self.output.line(&wrapped(&harmless(text), width, "", ""));
    }

    pub(super) fn indented(&mut self, text: &str) {
        let width = self.output.width();
        self.output.line(&wrapped(&harmless(text), width, "  ", "  "));
    }

    /// What was typed: an answer, or one of the plain words.
    fn understand(&mut self, text: String, options: &[String], free_text: bool) -> Typed {
        let trimmed = text.trim();
        if options.iter().any(|option| option.eq_ignore_ascii_case(trimmed)) {
            return Typed::Form(Form::text(text));
        }
        let quoted = trimmed.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).filter(|_| free_text);
        if let Some(quoted) = quoted.filter(|quoted| PlainWord::of(quoted.trim(), free_text, &self.answered).is_some())
        {
            return Typed::Form(Form::text(quoted.to_owned()));
        }
        match PlainWord::of(trimmed, free_text, &self.answered) {
            Some(PlainWord::Why) => {
                let why = if self.why.is_empty() {
                    "The procedure gives no reason for this step.".into()
                } else {
                    self.why.clone()
                };
                self.indented(&why);
                Typed::Again
            }
            Some(PlainWord::Help) => {
                self.help(free_text);
                Typed::Again
            }
            Some(PlainWord::Back(to)) => Typed::Form(Form::Back { to }),
            Some(PlainWord::Pause) => Typed::Form(Form::Pause),
            Some(PlainWord::Skip(reason)) => {
                self.rest_of(reason, "  why is it skipped? (Enter alone: not skipped) ", |reason| Form::Skip { reason })
            }
            Some(PlainWord::Change(id)) => self.change(&id).map_or(Typed::Again, Typed::Form),
            Some(PlainWord::Note(note)) => self.rest_of(note, "  note (Enter alone: none): ", Form::Note),
            None => Typed::Form(Form::text(text)),
        }
    }

    /// What belongs to a word: typed behind it, or asked for.
    fn rest_of(&mut self, rest: String, prompt: &str, reply: impl FnOnce(String) -> Form) -> Typed {
        let rest = if rest.is_empty() { self.input.line(prompt, &mut self.output) } else { Some(rest) };
        match rest {
            None => Typed::Form(Form::Pause),
            // Thought better of.
            Some(rest) if matches!(rest.trim().to_lowercase().as_str(), "" | "back") => Typed::Again,
            Some(rest) => Typed::Form(reply(rest.trim().to_owned())),
        }
    }

    fn help(&mut self, free_text: bool) {
        let drawn = table(self.output.width(), &["type", "to"], &plain_word::help(free_text), &[]);
        self.output.line(&drawn);
    }

    fn ask(&mut self, prompt: &str, options: &[String], free_text: bool) -> Form {
        loop {
            let Some(text) = self.input.line(prompt, &mut self.output) else { return Form::Pause };
            match self.understand(text, options, free_text) {
                Typed::Form(form) => return form,
                Typed::Again => {}
            }
        }
    }

    fn card(&self, prompt: &Prompt) -> PromptCard {
        PromptCard::of(prompt, if self.bench { At::SimulatedVehicle } else { At::Vehicle })
    }

    /// The question with its leads and limits; only its line when it is asked again.
    fn show_prompt(&mut self, prompt: &Prompt) {
        if self.prompt_shown.as_ref() == Some(&prompt.id) {
            return;
        }
        self.prompt_shown = Some(prompt.id.clone());
        let card = self.card(prompt);
        self.output.line("");
        let width = self.output.width();
        self.output.bold(&question::heading(&card, width));
        for line in question::details(&card, width) {
            self.output.line(&line);
        }
    }
}

/// Readings of a sweep as they were typed, each with its unit and, where it was said, its position.
pub(super) fn readings_in_a_line(readings: &[SweepReading], unit: Unit) -> String {
    let texts: Vec<String> = readings
        .iter()
        .map(|reading| {
            let value = typed::as_shown(&reading.text, unit);
            reading.position.as_ref().map_or_else(|| value.clone(), |position| format!("{value} at {position}"))
        })
        .collect();
    texts.join(", ")
}

impl Person {
    /// Once more, or the end of the run.
    fn again_or_end(&mut self, once_more: &str, again: Form) -> Form {
        loop {
            let prompt = format!("  1 {once_more}, 2 end it there > ");
            match self.input.line(&prompt, &mut self.output).as_deref().map(str::trim) {
                None | Some("pause") => return Form::Pause,
                Some("1" | "back") => return again,
                Some("2") => return Form::enter(),
                Some(_) => self.indented("Type 1 or 2; `pause` puts the run down."),
            }
        }
    }
}

impl Person {
    fn step(&mut self, view: View<'_>) {
        if self.step_shown != view.step {
            self.step += 1;
            self.step_shown = view.step.to_owned();
        }
        let of = if self.steps >= self.step { format!(" of up to {}", self.steps) } else { String::new() };
        let heading = format!("Step {}{of}: {}", self.step, harmless(view.step));
        let width = self.output.width();
        let rule = "─".repeat(width);
        self.output.line("");
        self.output.line(&rule);
        let heading = wrapped(&heading, width, "", "  ");
        self.output.bold(&heading);
        if !view.near.is_empty() {
            let near: Vec<_> = view.near.iter().map(|zone| zone.as_str().replace('_', " ")).collect();
            self.indented(&format!("near: {}", words::all(&near)));
        }
        self.why.clear();
        self.why.push_str(view.why);
    }

    fn prepare(&mut self, prompt: &Prompt) {
        if prompt.question.leads().is_some_and(|leads| !leads.ends().is_empty()) {
            self.show_prompt(prompt);
        }
    }

    fn act(&mut self, action: &Action, view: View<'_>) -> Form {
        self.output.line("");
        let width = self.output.width();
        // What was cranked for the reading has no engine running.
        let sentence = match (action, view.vehicle.engine) {
            (Action::StopEngine, Engine::Cranking) => "The starter rests again, the key is let go of".to_owned(),
            _ => action::sentence(action, self.points.as_deref()),
        };
        let words = wrapped(&sentence, width, "→ ", "  ");
        self.output.line(&words);
        for place in action::places(action, self.points.as_deref()) {
            self.output.line(&wrapped(&place, width, "    ", "      "));
        }
        // It counts down until something is typed.
        let _countdown = match (action, self.wait.take()) {
            (Action::Wait { .. }, Some(wait)) if !self.bench => {
                self.indented(&format!("until {}", wait.until));
                wait.count_down(&mut self.input)
            }
            _ => None,
        };
        loop {
            match self.ask("  Enter when done > ", &[], false) {
                Form::Text(text) if !text.trim().is_empty() => {
                    self.indented("Enter alone says that it is done; `help` lists what else can be typed.");
                }
                reply => return reply,
            }
        }
    }

    fn cut_short(&mut self, action: &Action, seconds: u64, view: View<'_>) -> Form {
        // A simulated vehicle does not fall asleep.
        if self.bench {
            return Form::Nobody;
        }
        if action.waits_for().is_some_and(|kind| !kind.may_be_shortened()) {
            return Form::enter();
        }
        self.indented(&wait::too_soon(action, seconds));
        self.act(action, view)
    }

    fn answer(&mut self, prompt: &Prompt) -> Form {
        self.show_prompt(prompt);
        let options = match &prompt.question {
            Question::Choice { options } => options.clone(),
            _ => vec![],
        };
        if matches!(prompt.question, Question::LowestHighest { .. }) && !self.bench {
            self.indented("type the lowest, a space, the highest");
        }
        let free_text = matches!(prompt.question, Question::Note);
        let reply = self.ask(&question::cursor(&self.card(prompt)), &options, free_text);
        if !self.bench && matches!(&reply, Form::Text(text) if text.trim().is_empty()) {
            // Scrolled away, perhaps: it is shown whole when it is asked again.
            self.prompt_shown = None;
        }
        reply
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading]) -> Form {
        let Question::Sweep { ends, moving, .. } = &prompt.question else { return Form::Nobody };
        // Taken up in the middle of it, it is shown with what is still to be done.
        let shown_before = self.prompt_shown.as_ref() == Some(&prompt.id);
        self.show_prompt(prompt);
        if so_far.is_empty() && self.bench {
            return self.ask(
                &format!("  Enter moves {} > ", action::moved(moving, self.points.as_deref())),
                &[],
                false,
            );
        }
        if so_far.is_empty() || !shown_before {
            let moving = action::moved(moving, self.points.as_deref());
            if !so_far.is_empty() {
                self.indented(&format!("so far: {}", readings_in_a_line(so_far, ends.unit)));
            }
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

    fn refused(&mut self, problem: &str) {
        let width = self.output.width();
        self.output.toned(Tone::Doubtful, &wrapped(&harmless(problem), width, "  ", "  "));
    }

    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt) -> Form {
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

    fn needs(&mut self, id: &PromptId, why: &str) -> Form {
        self.output.line("");
        self.say(&format!("The procedure can't go on: {why}."));
        self.again_or_end(&format!("answer `{id}` again"), Form::Back { to: Some(id.clone()) })
    }

    fn left_out(&mut self) -> Form {
        self.indented("The procedure can't go on without it.");
        self.again_or_end("ask for it again", Form::Back { to: None })
    }

    fn concludes(&mut self, causes: &[NamedCause]) -> Form {
        let width = self.output.width();
        self.output.line("");
        self.output.line(&"─".repeat(width));
        if causes.len() > 1 {
            self.output.line("The evidence can't part these causes:");
        }
        for cause in causes {
            self.output.line(&wrapped(&harmless(&cause.cause), width, "Cause:      ", "            "));
            self.output.line(&wrapped(&harmless(&cause.correction), width, "Correction: ", "            "));
        }
        loop {
            match self.ask("  Enter lets it stand, `back` answers again > ", &[], false) {
                Form::Text(text) if !text.trim().is_empty() => {
                    self.indented("Enter alone lets it stand; `help` lists what else can be typed.");
                }
                reply => return reply,
            }
        }
    }

    fn confirm_vehicle(&mut self, left: &VehicleState) -> Form {
        self.output.line("");
        self.say("The vehicle, as the record left it. Look before you trust it:");
        match crate::cli::terminal::intake::confirm_state(&mut self.input, &mut self.output, left) {
            Some(state) => Form::Vehicle { state: Box::new(state), seen: true },
            None => Form::Pause,
        }
    }
}

impl Answerer for Person {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        let form = match request {
            Request::Caution { rules } => cautions::read(rules, &mut self.input, &mut self.output, &self.answered),
            Request::Act { action } | Request::PutBack { action } => self.act(action, view),
            Request::Answer { prompt } => self.answer(prompt),
            Request::NextOfSweep { prompt, so_far } => self.next_of_sweep(prompt, so_far),
            Request::Doubt { prompt, typed, doubt } => self.doubt(prompt, typed, doubt),
            Request::Needs { id, why } => self.needs(id, why),
            Request::LeftOut { .. } => self.left_out(),
            Request::Conclude { causes } => self.concludes(causes),
            Request::WaitCutShort { action, seconds } => self.cut_short(action, seconds, view),
            Request::ConfirmVehicle { left } => self.confirm_vehicle(left),
        };
        form.from(self.input.origin())
    }

    fn notice(&mut self, notice: Notice<'_>) {
        match notice {
            Notice::Step { view } => self.step(view),
            Notice::Why { text } => {
                self.why.clear();
                self.why.push_str(text);
            }
            Notice::Remark { text } => self.indented(text),
            Notice::Waits { seconds, until } => self.wait = Some(Wait { seconds, until: until.to_owned() }),
            Notice::Prepare { prompt } => self.prepare(prompt),
            Notice::Refused { problem } => self.refused(problem),
            Notice::Recorded { entry, replayed, .. } => self.recorded(entry, replayed),
            Notice::Live => self.replaying = false,
            // It is the only screen.
            Notice::Stands { .. } | Notice::Withdrawn { .. } => {}
        }
    }
}
