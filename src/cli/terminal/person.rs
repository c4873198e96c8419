//! A person at the vehicle: dirty hands, bad light, every key costs.

use crate::cli::terminal::cautions;
use crate::cli::terminal::how::How;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::key::ACCEPTED;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::past::Past;
use crate::cli::terminal::takes::Takes;
use crate::cli::terminal::wait::{self, Wait};
use crate::model::doubt::Doubt;
use crate::model::event::{Entry, NamedCause};
use crate::model::points::Points;
use crate::model::prompt::{CautionId, Prompt, PromptId, Question};
use crate::model::record::given::SweepReading;
use crate::model::shop::Decimal;
use crate::model::sweep;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use crate::model::vehicle::{Action, Engine, VehicleState};
use crate::report::action;
use crate::report::entry::Tone;
use crate::report::finding;
use crate::report::prompt_card::Enter;
use crate::report::question;
use crate::report::table::{harmless, wrapped};
use crate::run::answerer::{Answerer, MeterInUse};
use crate::run::notice::Notice;
use crate::run::reply::{Form, Reply};
use crate::run::request::Request;
use crate::run::view::View;
use crate::shop::still_possible::{Evidence, MakesEvidence};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A person at a terminal or behind a pipe.
pub struct Person {
    pub(super) input: Input,
    pub(super) output: Output,
    pub(super) steps: usize,
    pub(super) step: usize,
    pub(super) step_shown: String,
    /// The heading of a step that no block has shown yet.
    pub(super) new_step: Option<String>,
    pub(super) why: String,
    pub(super) replaying: bool,
    pub(super) prompt_shown: Option<PromptId>,
    /// The answers that can be undone.
    pub(super) past: Past,
    pub(super) points: Option<Arc<Points>>,
    /// The readings of the sweep that is being taken.
    pub(super) sweep: Vec<SweepReading>,
    pub(super) bench: bool,
    pub(super) example: bool,
    pub(super) meter: Arc<MeterInUse>,
    pub(super) large: bool,
    pub(super) decimal: Option<Decimal>,
    /// The reading that the next action is for.
    prepared: Option<Prompt>,
    /// A value typed for that reading at its action.
    typed_ahead: Option<(PromptId, String)>,
    /// The keys as they were shown last.
    pub(super) keys_shown: String,
    /// The state of the vehicle as a block showed it last.
    pub(super) state_shown: Vec<String>,
    /// The places that a block of this step has named.
    pub(super) places_shown: BTreeSet<String>,
    /// The cautions that were confirmed before a note was written at one of the same request.
    confirmed: Vec<CautionId>,
    /// The wait that is asked for next, or that lasts: its seconds, and when it ends.
    pub(super) wait: Option<Wait>,
    /// The record so far, by its lines.
    pub(super) entries: BTreeMap<usize, Entry>,
    pub(super) makes_evidence: Option<MakesEvidence>,
    /// The evidence engine, from the first `possible` on.
    pub(super) evidence: Option<Evidence>,
}

impl Person {
    /// `steps` is how many headings the procedure has at most.
    pub fn new(input: Input, output: Output, steps: usize) -> Self {
        Self {
            input,
            output,
            steps,
            step: 0,
            step_shown: String::new(),
            new_step: None,
            why: String::new(),
            replaying: false,
            prompt_shown: None,
            past: Past::default(),
            points: None,
            sweep: Vec::new(),
            bench: false,
            example: false,
            meter: Arc::default(),
            large: false,
            decimal: None,
            prepared: None,
            typed_ahead: None,
            keys_shown: String::new(),
            state_shown: Vec::new(),
            places_shown: BTreeSet::new(),
            confirmed: Vec::new(),
            wait: None,
            entries: BTreeMap::new(),
            makes_evidence: None,
            evidence: None,
        }
    }

    /// The same, told in the circuit's words where things are.
    pub fn with_points(mut self, points: Option<Arc<Points>>) -> Self {
        self.points = points;
        self
    }

    /// The same, with a meter whose accuracy is known.
    pub fn with_meter(mut self, meter: Arc<MeterInUse>) -> Self {
        self.meter = meter;
        self
    }

    /// The same, told that pins, colors and limits are an example's.
    pub const fn with_example(mut self, example: bool) -> Self {
        self.example = example;
        self
    }

    /// The same, as the shop or the technician wants it: verdicts in large letters, and the sign before a number's fraction.
    pub const fn showing(mut self, large: bool, decimal: Option<Decimal>) -> Self {
        self.large = large;
        self.decimal = decimal;
        self
    }

    /// The same, with a simulated circuit that answers when Enter is pressed.
    pub fn at_bench(mut self) -> Self {
        self.bench = true;
        self
    }

    /// The same, able to say what is still possible.
    pub fn with_evidence(mut self, makes: MakesEvidence) -> Self {
        self.makes_evidence = Some(makes);
        self
    }

    /// The same, about to go through these entries of a record.
    pub fn with_entries(mut self, entries: &[Entry]) -> Self {
        self.entries = (1..).zip(entries.iter().cloned()).collect();
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

/// Whether the sweep has turned at the reading before the last one.
fn has_just_turned(so_far: &[SweepReading], unit: Unit) -> bool {
    let numbers: Vec<Option<f64>> = so_far
        .iter()
        .map(|reading| match typed::read(&reading.text, unit) {
            Ok(Shown::Value(value)) => Some(value.si()),
            _ => None,
        })
        .collect();
    sweep::turns(&numbers).last().is_some_and(|turn| turn + 2 == numbers.len())
}

impl Person {
    /// Once more, or the end of the run.
    fn again_or_end(&mut self, once_more: &str, again: Form) -> Form {
        loop {
            let prompt = format!("1 {once_more}, 2 end the run here > ");
            match self.input.line(&prompt, &mut self.output).as_deref().map(str::trim) {
                None | Some("pause") => return Form::Pause,
                Some("1" | "back" | "--") => return again,
                Some("2") => return Form::enter(),
                Some(_) => self.indented("Type 1 or 2; `pause` pauses the run."),
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
        self.new_step = Some(view.step.to_owned());
        self.why.clear();
        self.why.push_str(view.why);
        self.places_shown.clear();
    }

    fn act(&mut self, action: &Action, view: View<'_>) -> Form {
        // To let go of the key was a part of the block with the reading.
        if (action, view.vehicle.engine) == (&Action::StopEngine, Engine::Cranking) {
            return Form::enter();
        }
        let sentence = action::sentence(action, self.points.as_deref());
        let places = action::places(action, self.points.as_deref());
        if let Some(prompt) = self.prepared.take().filter(|_| action.is_for_a_reading()) {
            return self.act_and_read(&prompt, (sentence, places), view);
        }
        self.show_step();
        self.output.begin_block();
        let width = self.output.width();
        self.output.bold(&question::with_label("DO", &sentence, width));
        for place in places {
            self.output.line(&question::with_label("", &place, width));
        }
        // It counts down while the answer is typed.
        if let (Action::Wait { .. }, Some(wait)) = (action, self.wait.take())
            && !self.bench
        {
            self.indented(&format!("until {}", wait.until));
            self.input.counts_down(wait.countdown());
        }
        let how = if matches!(action, Action::Wait { .. }) { How::Fresh } else { How::AsItComes };
        loop {
            match self.ask_so("Enter: done > ", &[], Takes::Done, how) {
                Form::Text(text) if !text.trim().is_empty() => self.is_no_action(&text),
                reply => return reply,
            }
        }
    }

    fn is_no_action(&mut self, text: &str) {
        let text = text.trim();
        let what = if typed::is_bare(text) { "is a reading" } else { "is no key here" };
        self.indented(&format!("{text} {what}. This prompt asks for an action. Enter: done. .. more"));
    }

    /// An action that lasts only as long as its reading: both are one block with one answer.
    fn act_and_read(&mut self, prompt: &Prompt, action: (String, Vec<String>), view: View<'_>) -> Form {
        self.prompt_shown = None;
        self.show_prompt(prompt, Some(action), view);
        let card = self.card(prompt);
        let takes = prompt.question.unit().map_or(Takes::Done, Takes::DoneAndReading);
        let how = if matches!(prompt.question, Question::Sweep { .. }) { How::Joined } else { How::AsItComes };
        let reply = self.ask_so(&question::cursor(&card), &[], takes, how);
        if let Form::Text(text) = &reply
            && (self.bench || !text.trim().is_empty())
        {
            self.typed_ahead = Some((prompt.id.clone(), text.to_string()));
        }
        if matches!(reply, Form::Text(_)) { Form::enter() } else { reply }
    }

    /// A value typed for this prompt at its action.
    fn typed_for(&mut self, prompt: &Prompt) -> Option<Form> {
        let (id, text) = self.typed_ahead.take()?;
        (id == prompt.id).then(|| Form::text(text))
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

    fn answer(&mut self, prompt: &Prompt, view: View<'_>) -> Form {
        if let Some(form) = self.typed_for(prompt) {
            return form;
        }
        self.show_prompt(prompt, None, view);
        let card = self.card(prompt);
        let unit = prompt.question.unit();
        let takes = match (&prompt.question, unit) {
            (Question::LowestHighest { .. }, Some(unit)) => Takes::TwoReadings(unit),
            (_, Some(unit)) => Takes::Reading(unit),
            (Question::Choice { options }, _) => Takes::Choice(options.len()),
            (Question::YesNo, _) => Takes::YesNo,
            _ => Takes::Note,
        };
        let options = card.options.clone();
        let takes_enter = !matches!(card.enter, Enter::Nothing | Enter::EndsSweep);
        loop {
            match self.ask(&question::cursor(&card), &options, takes) {
                // Nothing is ever stored by Enter.
                Form::Text(text) if text.trim().is_empty() && !takes_enter => {
                    self.show_all_again();
                    self.show_prompt(prompt, None, view);
                }
                reply => return reply,
            }
        }
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], view: View<'_>) -> Form {
        let Question::Sweep { ends, .. } = &prompt.question else { return Form::Nobody };
        let unit = ends.unit;
        if let Some(form) = self.typed_for(prompt) {
            return form;
        }
        // Taken up in the middle of it, it is shown with what is still to be done.
        let shown_before = self.prompt_shown.as_ref() == Some(&prompt.id);
        self.show_prompt(prompt, None, view);
        if !so_far.is_empty() && !shown_before {
            self.indented(&format!("so far: {}", readings_in_a_line(so_far, unit)));
        } else if has_just_turned(so_far, unit) {
            self.indented("turned");
        }
        let cursor = if so_far.is_empty() && self.bench {
            format!("{unit} > ")
        } else {
            format!("{} {unit} > ", so_far.len() + 1)
        };
        self.ask_so(&cursor, &[], Takes::Sweep(unit), How::Joined)
    }

    fn refused(&mut self, problem: &str) {
        let width = self.output.width();
        self.output.toned(Tone::Doubtful, &wrapped(&harmless(problem), width, "  ", "  "));
    }

    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt, view: View<'_>) -> Form {
        self.show_prompt(prompt, None, view);
        let unit = prompt.question.unit();
        let shown = match unit {
            Some(unit) if typed::is_bare(typed) => unit.with_symbol(typed.trim()),
            _ => typed.trim().to_owned(),
        };
        let width = self.output.width();
        let text = question::with_label("DOUBT", &format!("{shown}? {doubt}"), width);
        let prompt =
            format!("+ keeps it, or type it again; {}> ", unit.map(|unit| format!("{unit} ")).unwrap_or_default());
        let mut how = How::Fresh;
        loop {
            self.output.toned(Tone::Doubtful, &text);
            match self.ask_so(&prompt, &[], Takes::Doubt(unit), how) {
                // Only `+` accepts: Enter shows it again.
                form if form.is_enter() => how = How::AsItComes,
                Form::Text(text) if &*text == ACCEPTED => return Form::enter(),
                form => return form,
            }
        }
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
        self.output.begin_block();
        self.output.line(&question::rule("result", if self.bench { "SIMULATED" } else { "" }, width));
        if causes.len() > 1 {
            self.output.line("The readings fit more than one cause:");
        }
        for cause in causes {
            self.output.bold(&question::with_label("FOUND", &finding::in_words(cause), width));
            self.output.line(&question::with_label("DO", &cause.correction, width));
        }
        loop {
            match self.ask("Enter accepts, -- undoes the last answer > ", &[], Takes::End) {
                Form::Text(text) if !text.trim().is_empty() => {
                    self.indented("Enter accepts the result. -- undoes the last answer. .. more");
                }
                reply => return reply,
            }
        }
    }

    fn confirm_vehicle(&mut self, left: &VehicleState) -> Form {
        self.output.begin_block();
        self.say("The vehicle, as the record left it. Look before you trust it:");
        match crate::cli::terminal::intake::confirm_state(
            &mut self.input,
            &mut self.output,
            left,
            self.points.as_deref(),
        ) {
            Some(state) => Form::Vehicle { state: Box::new(state), seen: true },
            None => Form::Pause,
        }
    }
}

impl Answerer for Person {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        let form = match request {
            Request::Caution { rules } => {
                self.show_step();
                // Input from before the caution does not count after it.
                self.typed_ahead = None;
                cautions::read(rules, &mut self.input, &mut self.output, &self.past, &mut self.confirmed)
            }
            Request::Act { action } | Request::PutBack { action } => self.act(action, view),
            Request::Answer { prompt } => self.answer(prompt, view),
            Request::NextOfSweep { prompt, so_far } => self.next_of_sweep(prompt, so_far, view),
            Request::Doubt { prompt, typed, doubt } => self.doubt(prompt, typed, doubt, view),
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
            Notice::Reminded { rules } => cautions::remind(rules, &mut self.output),
            Notice::Prepare { prompt } => self.prepared = Some(prompt.clone()),
            Notice::Refused { problem } => self.refused(problem),
            Notice::Recorded { line, entry, replayed } => {
                if !replayed {
                    self.entries.insert(line, entry.clone());
                }
                self.recorded(entry, replayed);
            }
            Notice::Live => self.replaying = false,
            // It is the only screen.
            Notice::Stands { .. } | Notice::Withdrawn { .. } => {}
        }
    }
}
