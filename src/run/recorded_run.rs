//! A record run again, event by event: whoever answered then answers the same now, and the clock shows what it showed.

use super::answerer::Answerer;
use super::journal::Clock;
use super::meaning::as_typed;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::model::caution::Rule;
use crate::model::ending::{Ending, Why};
use crate::model::event::{AT_A_CAUTION, Entry, Event};
use crate::model::format::FIRST_FORMAT;
use crate::model::origin::Origin;
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::given::SweepReading;
use crate::model::stamp::Stamp;
use crate::model::vehicle::Action;
use same::{in_contrast, same};
use std::sync::{Arc, Mutex, MutexGuard};

mod older;
mod same;

/// Where a record and the run over its answers part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The record's line.
    pub line: usize,
    /// What the record has there.
    pub recorded: String,
    /// What comes out now.
    pub now: String,
}

struct State {
    original: Arc<Vec<Entry>>,
    position: usize,
    /// An action was said to be done, and is not recorded yet.
    acting: bool,
    broken_off: bool,
    difference: Option<Difference>,
    /// What was replied last could not be taken.
    refused: bool,
}

/// How far a record was run again.
#[derive(Clone)]
pub struct RecordedRun(Arc<Mutex<State>>);

impl RecordedRun {
    /// Of a record's entries, from its first line.
    pub fn new(original: Arc<Vec<Entry>>) -> Self {
        Self(Arc::new(Mutex::new(State {
            original,
            position: 0,
            acting: false,
            broken_off: false,
            difference: None,
            refused: false,
        })))
    }

    fn state(&self) -> MutexGuard<'_, State> {
        // A panic in between leaves nothing half done that matters here.
        self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// How many lines agree so far.
    pub fn position(&self) -> usize {
        self.state().position
    }

    /// Passes over what the edge wrote between two sittings; a new sitting begins.
    pub fn next_sitting(&self) {
        let mut state = self.state();
        while state.next().is_some_and(is_of_the_edge) {
            state.position += 1;
        }
        state.broken_off = false;
    }

    /// Where record and run part, if they did.
    pub fn difference(&self) -> Option<Difference> {
        self.state().difference.clone()
    }
}

/// Written by the edge between two sittings, not by a session.
const fn is_of_the_edge(event: &Event) -> bool {
    matches!(event, Event::TornLineDropped { .. } | Event::Continued(_) | Event::Stated(_) | Event::Signed { .. })
}

impl State {
    fn next(&self) -> Option<&Event> {
        self.original.get(self.position).map(|entry| &entry.event)
    }

    /// What comes next of what was replied: where the run was left, what it was left for.
    fn next_of_replies(&self) -> Option<&Event> {
        let ahead = self.original.get(self.position..).unwrap_or_default();
        let first = ahead.first().map(|entry| &entry.event);
        if !matches!(first, Some(Event::LeftChanged { .. })) {
            return first;
        }
        let is_of_the_way = |event: &Event| {
            matches!(
                event,
                Event::LeftChanged { .. }
                    | Event::Cautioned { .. }
                    | Event::Reminded { .. }
                    | Event::Acknowledged { .. }
                    | Event::Noted { .. }
                    | Event::Acted { back: true, .. }
            )
        };
        match ahead.iter().map(|entry| &entry.event).find(|event| !is_of_the_way(event)) {
            Some(event @ (Event::Paused | Event::Ended { .. } | Event::Concluded { .. })) => Some(event),
            // Broken off on the way back: whatever it was for, the same comes of it.
            _ => Some(&Event::Paused),
        }
    }

    /// The sitting ended here, by a power cut or the like: what follows is of the next one, or there is nothing more.
    fn at_a_break(&self) -> bool {
        self.next().is_none_or(|event| is_of_the_edge(event) || matches!(event, Event::Resumed { .. }))
    }

    fn recorded(&mut self, event: &Event) {
        self.acting = false;
        if self.is_over() {
            return;
        }
        match self.next() {
            Some(next) if same(next, event) => self.position += 1,
            // Put down before anything else was asked: at the vehicle's state, in the next sitting.
            _ if self.at_a_break() || matches!(self.next(), Some(Event::Paused)) => self.broken_off = true,
            Some(next) => {
                let (recorded, now) = in_contrast(next, event);
                self.difference = Some(Difference { line: self.position + 1, recorded, now });
            }
            None => self.broken_off = true,
        }
    }

    /// There is nothing more to be compared: whatever is asked, the sitting ends.
    const fn is_over(&self) -> bool {
        self.broken_off || self.difference.is_some()
    }

    fn answer(&mut self, prompt: &Prompt) -> Form {
        if self.is_over() {
            return Form::Pause;
        }
        let form = match self.next_of_replies() {
            Some(Event::Answered { prompt: then, answer, .. }) if then.id == prompt.id => as_typed(answer),
            Some(Event::Doubted { id, typed, .. }) if *id == prompt.id => Form::Text(typed.clone()),
            next => other(next),
        };
        if form == Form::Nobody && !matches!(self.next(), Some(Event::Waited { .. })) {
            self.stray(&prompt.in_words());
        }
        form
    }

    fn next_of_sweep(&mut self, prompt: &Prompt) -> Form {
        match self.next() {
            Some(Event::SweepRead { id, text, position, .. }) if *id == prompt.id && !self.is_over() => {
                Form::text(SweepReading::as_typed(text, position.as_deref()))
            }
            _ => self.answer(prompt),
        }
    }

    fn caution(&self, rules: &[&Rule]) -> Form {
        if self.is_over() {
            return Form::Pause;
        }
        match self.next_of_replies() {
            Some(Event::Acknowledged { by_person: true, qualified, .. }) => {
                Form::Acknowledged { qualified: qualified.clone() }
            }
            Some(Event::Acknowledged { by_person: false, qualified, origin: Some(_), .. }) => {
                Form::Acknowledged { qualified: qualified.clone() }
            }
            Some(Event::Acknowledged { by_person: false, .. }) => Form::Nobody,
            // What needs to be read was not read.
            Some(Event::Struck { id, reading: None, .. }) if rules.iter().any(|rule| rule.needs_confirming()) => {
                Form::Back { to: Some(id.clone()) }
            }
            Some(Event::Ended { ending: Ending::Unfinished { why: Why::RefusedCaution { .. }, .. } }) => Form::Refused,
            Some(Event::Ended { .. }) if rules.iter().any(|rule| rule.qualified_person) => Form::Refused,
            // Written where it was read; another note belongs to what comes after.
            Some(Event::Noted { at_prompt, text, .. }) if at_prompt == AT_A_CAUTION => Form::Note(text.clone()),
            // Left on the way back: what needs to be confirmed was not, and nobody went on.
            Some(Event::Concluded { .. } | Event::Ended { .. }) if rules.iter().any(|rule| rule.needs_confirming()) => {
                Form::Pause
            }
            Some(Event::Paused) | None => Form::Pause,
            Some(_) => Form::Acknowledged { qualified: None },
        }
    }

    fn act(&mut self, action: &Action) -> Form {
        if self.is_over() {
            return Form::Pause;
        }
        let form = match self.next_of_replies() {
            Some(Event::Acted { action: then, .. }) if then == action => Form::enter(),
            Some(Event::Ended { ending }) => match ending.why_not_done(action) {
                Some(why) => Form::Skip { reason: why.to_owned() },
                None => Form::Nobody,
            },
            next => other(next),
        };
        if form == Form::enter() {
            self.acting = true;
        } else if form == Form::Nobody && !matches!(self.next(), Some(Event::Waited { .. })) {
            self.stray(&format!("the action \u{201c}{action}\u{201d}"));
        }
        form
    }

    /// A line of the way back: done where it comes next. Where something else of the way comes, it was left open; where nothing
    /// does, all of the rest.
    fn put_back(&mut self, action: &Action) -> Form {
        if self.at_a_break() {
            self.broken_off = true;
        }
        if self.is_over() {
            return Form::Pause;
        }
        match self.next() {
            Some(Event::Acted { action: then, back: true, .. }) if then == action => {
                self.acting = true;
                Form::enter()
            }
            Some(Event::Noted { text, .. }) => Form::Note(text.clone()),
            Some(
                Event::Acted { back: true, .. }
                | Event::Cautioned { .. }
                | Event::Reminded { .. }
                | Event::Acknowledged { .. },
            ) => Form::Skip { reason: String::new() },
            _ => Form::Nobody,
        }
    }

    fn needs(&mut self, id: &PromptId) -> Form {
        match self.next_of_replies() {
            Some(Event::Struck { id: struck, .. }) if struck == id => Form::Back { to: Some(id.clone()) },
            Some(Event::Ended { ending: Ending::Unfinished { .. } }) => Form::enter(),
            Some(Event::Paused) => Form::Pause,
            _ if self.at_a_break() => {
                self.broken_off = true;
                Form::Pause
            }
            _ => Form::Nobody,
        }
    }

    fn conclude(&mut self) -> Form {
        if self.at_a_break() {
            self.broken_off = true;
        }
        if self.is_over() {
            return Form::Pause;
        }
        match other(self.next_of_replies()) {
            Form::Nobody => Form::enter(),
            form => form,
        }
    }

    fn confirm_vehicle(&mut self) -> Form {
        match self.next_of_replies() {
            _ if self.is_over() => Form::Pause,
            Some(Event::Resumed { vehicle, unseen, .. }) => Form::Vehicle { state: vehicle.clone(), seen: !unseen },
            Some(Event::Paused) => Form::Pause,
            _ => {
                self.stray("the vehicle's state to be confirmed");
                Form::Pause
            }
        }
    }

    /// Where what comes next came from.
    fn origin(&self) -> Origin {
        match self.next() {
            Some(Event::Answered { origin, .. } | Event::SweepRead { origin, .. } | Event::Changed { origin, .. }) => {
                origin.clone()
            }
            Some(Event::Acknowledged { origin: Some(origin), .. }) => origin.clone(),
            Some(Event::Acted { person, .. } | Event::Acknowledged { person, .. } | Event::Noted { person, .. }) => {
                Origin::Typed { person: person.clone() }
            }
            _ => Origin::TYPED,
        }
    }

    /// The script asks what the record does not answer here.
    fn stray(&mut self, asked: &str) {
        if self.at_a_break() {
            self.broken_off = true;
        } else if self.difference.is_none()
            && let Some(next) = self.next()
        {
            let recorded = next.kind_in_words();
            self.difference = Some(Difference { line: self.position + 1, recorded, now: asked.to_owned() });
        }
    }
}

/// What was typed instead of an answer.
fn other(next: Option<&Event>) -> Form {
    match next {
        Some(Event::Noted { text, .. }) => Form::Note(text.clone()),
        // The last one of the sweep that goes on.
        Some(Event::Struck { reading: Some(_), .. }) => Form::Back { to: None },
        Some(Event::Struck { id, .. }) => Form::Back { to: Some(id.clone()) },
        Some(Event::Changed { id, new, reason, .. }) => {
            Form::Change { id: id.clone(), new: new.clone(), reason: reason.clone() }
        }
        Some(Event::Paused) => Form::Pause,
        _ => Form::Nobody,
    }
}

impl Clock for RecordedRun {
    /// An action has the time at which it was done; cautions are weighed when they were told, and else right after what
    /// happened last.
    fn now(&mut self) -> Stamp {
        let state = self.state();
        let acting = state.acting;
        let position = state.position;
        let index = match state.next() {
            Some(Event::Cautioned { .. } | Event::Reminded { .. }) => position,
            Some(Event::Acted { .. }) if acting => position,
            _ => position.saturating_sub(1),
        };
        state.original.get(index).or(state.original.last()).map_or_else(|| Stamp::new(""), |entry| entry.at.clone())
    }
}

impl Answerer for RecordedRun {
    fn ask(&mut self, request: Request<'_>, _view: View<'_>) -> Reply {
        let mut state = self.state();
        let origin = state.origin();
        let form = match request {
            Request::Answer { .. } | Request::NextOfSweep { .. } | Request::Doubt { .. }
                if std::mem::take(&mut state.refused) =>
            {
                Form::Nobody
            }
            Request::Answer { prompt } | Request::Doubt { prompt, .. } => state.answer(prompt),
            Request::NextOfSweep { prompt, .. } => state.next_of_sweep(prompt),
            Request::Caution { rules } => state.caution(rules),
            Request::Act { action } => state.act(action),
            Request::PutBack { action } => state.put_back(action),
            Request::Needs { id, .. } => state.needs(id),
            Request::Conclude { .. } => state.conclude(),
            Request::ConfirmVehicle { .. } => state.confirm_vehicle(),
            Request::LeftOut { .. } => Form::enter(),
            // How long somebody waited is not seen again.
            Request::WaitCutShort { .. } => Form::Nobody,
        };
        form.from(origin)
    }

    fn notice(&mut self, notice: Notice<'_>) {
        let mut state = self.state();
        state.refused = false;
        match notice {
            Notice::Refused { problem } => {
                state.stray(problem);
                state.refused = true;
            }
            Notice::Recorded { entry, replayed: false, .. } => state.recorded(&entry.event),
            _ => {}
        }
    }
}

/// What older versions did otherwise, as far as the record's next entries tell. Journal format 1 keeps these unchanged.
impl RecordedRun {
    /// The journal format of the sitting that is run again.
    pub(super) fn format_of_sitting(&self) -> u32 {
        let state = self.state();
        let begun = state.original.iter().take(state.position).rev().find_map(|entry| match &entry.event {
            Event::Started(started) => Some(started.format),
            Event::Continued(sitting) => Some(sitting.format),
            _ => None,
        });
        begun.unwrap_or(FIRST_FORMAT)
    }

    /// The behavior of the sitting that is run again.
    pub(super) fn behavior_of_sitting(&self) -> u32 {
        let state = self.state();
        super::sitting::behavior_at(&state.original, state.position)
    }

    /// Whether the record has here that its script failed.
    pub(super) fn failed_here(&self) -> bool {
        matches!(self.state().next_of_replies(), Some(Event::Ended { ending: Ending::Failed { .. } }))
    }

    /// Older records have it each time.
    pub(super) fn confirms_again(&self) -> bool {
        matches!(self.state().next(), Some(Event::Resumed { .. }))
    }

    /// Older records have nothing of it.
    pub(super) fn brings_back(&self) -> bool {
        let state = self.state();
        let mut ahead = state.original.iter().skip(state.position).map(|entry| &entry.event);
        let next = ahead.find(|event| {
            !matches!(event, Event::Cautioned { .. } | Event::Acknowledged { .. } | Event::Noted { .. } | Event::Paused)
        });
        !next.is_some_and(|next| next.is_of_the_script() || matches!(next, Event::Doubted { .. }))
    }

    pub(super) fn went_back_by(&self, action: &Action) -> bool {
        let state = self.state();
        for entry in state.original.iter().skip(state.position) {
            match &entry.event {
                Event::Acted { action: done, back: true, .. } if done == action => return true,
                Event::Acted { back: true, .. }
                | Event::Cautioned { .. }
                | Event::Acknowledged { .. }
                | Event::Noted { .. } => {}
                Event::Paused | Event::Waited { .. } => return true,
                Event::Ended { ending } => return ending.why_not_done(action).is_some(),
                _ => return false,
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::started::Started;
    use crate::model::vehicle::{Key, VehicleState};
    use crate::run::request::Token;

    #[test]
    fn an_action_has_the_time_at_which_it_was_done_however_often_the_clock_is_read_for_it() {
        let action = Action::TurnKey { to: Key::On };
        let entry = |at: &str, event: Event| Entry::new(Stamp::new(at), event);
        let (began, acted, paused) = ("2026-01-05T08:00:00Z", "2026-01-05T08:40:00Z", "2026-01-05T08:41:00Z");
        let entries = vec![
            entry(
                began,
                Event::Started(Box::new(Started::of("p", "P", 1, crate::model::answered_by::AnsweredBy::Person))),
            ),
            entry(acted, Event::acted(action.clone(), false)),
            entry(paused, Event::Paused),
        ];
        let mut run = RecordedRun::new(Arc::new(entries.clone()));
        run.notice(Notice::Recorded { line: 1, entry: &entries[0], replayed: false });
        assert_eq!(run.now().as_str(), began);
        let (token, vehicle) = (Token::default(), VehicleState::default());
        let view = View { token: &token, step: "", near: &[], why: "", vehicle: &vehicle, answered: 0 };
        assert_eq!(run.ask(Request::Act { action: &action }, view), Form::enter().from(Origin::TYPED));
        assert_eq!([run.now(), run.now()].map(|stamp| stamp.as_str().to_owned()), [acted, acted]);
        run.notice(Notice::Recorded { line: 2, entry: &entries[1], replayed: false });
        assert_eq!(run.now().as_str(), acted);
        run.notice(Notice::Recorded { line: 3, entry: &entries[2], replayed: false });
        assert_eq!((run.now().as_str(), run.difference()), (paused, None));
    }
}
