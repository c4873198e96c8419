//! A record run again, event by event: whoever answered then answers the same now, and the clock shows what it showed.

use super::answerer::{Acknowledgement, Answerer, Reply, View};
use super::chain::what;
use super::journal::{Clock, Durability};
use super::meaning::as_typed;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::{AnsweredBy, Ending, Entry, Event, NamedCause, Told};
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::SweepReading;
use crate::model::stamp::Stamp;
use crate::model::vehicle::{Action, VehicleState};
use crate::model::words;
use std::sync::{Arc, Mutex, MutexGuard};

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
    acting: bool,
    broken_off: bool,
    difference: Option<Difference>,
    carried: bool,
    vehicle_seen: bool,
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
            carried: false,
            vehicle_seen: false,
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
    matches!(event, Event::TornLineDropped { .. } | Event::Stated(_) | Event::Signed { .. })
}

impl State {
    fn next(&self) -> Option<&Event> {
        self.original.get(self.position).map(|entry| &entry.event)
    }

    /// The sitting ended here, by a power cut or the like: what follows is of the next one, or there is nothing more.
    fn at_a_break(&self) -> bool {
        self.next().is_none_or(|event| is_of_the_edge(event) || matches!(event, Event::Resumed { .. }))
    }

    fn recorded(&mut self, event: &Event) {
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

    fn reply(&mut self, prompt: &Prompt) -> Reply {
        self.carried = false;
        if self.is_over() {
            return Reply::Pause;
        }
        let reply = match self.next() {
            Some(Event::Answered { prompt: then, answer, carried, .. }) if then.id == prompt.id => {
                let reply = as_typed(answer);
                let carried = *carried;
                self.carried = carried;
                reply
            }
            Some(Event::Doubted { id, typed, .. }) if *id == prompt.id => Reply::Text(typed.clone()),
            next => other(next),
        };
        if reply == Reply::Nobody && !matches!(self.next(), Some(Event::Waited { .. })) {
            self.stray(&prompt.in_words());
        }
        reply
    }

    /// The script asks what the record does not answer here.
    fn stray(&mut self, asked: &str) {
        if self.at_a_break() {
            self.broken_off = true;
        } else if self.difference.is_none()
            && let Some(next) = self.next()
        {
            let recorded = what(next);
            self.difference = Some(Difference { line: self.position + 1, recorded, now: asked.to_owned() });
        }
    }
}

/// What was typed instead of an answer.
fn other(next: Option<&Event>) -> Reply {
    match next {
        Some(Event::Noted { text, .. }) => Reply::Note(text.clone()),
        // The last one of the sweep that goes on.
        Some(Event::Struck { reading: Some(_), .. }) => Reply::Back { to: None },
        Some(Event::Struck { id, .. }) => Reply::Back { to: Some(id.clone()) },
        Some(Event::Paused) => Reply::Pause,
        _ => Reply::Nobody,
    }
}

/// Whether two events say the same. How a failure of the script is worded may change.
fn same(then: &Event, now: &Event) -> bool {
    match (then, now) {
        (Event::Ended { ending: Ending::Failed { .. } }, Event::Ended { ending: Ending::Failed { .. } }) => true,
        (Event::Ended { ending: then }, Event::Ended { ending: now }) => then.is_the_same_as(now),
        (
            Event::Answered { prompt, answer, verdict: Some(verdict), carried },
            Event::Answered {
                prompt: prompt_now,
                answer: answer_now,
                verdict: Some(verdict_now),
                carried: carried_now,
            },
        ) => {
            verdict.says_the_same_as(verdict_now) && (prompt, answer, carried) == (prompt_now, answer_now, carried_now)
        }
        // How long somebody waited is not seen again.
        (Event::Acted { action, already, back, .. }, now) => {
            matches!(now, Event::Acted { action: action_now, already: already_now, back: back_now, .. }
                if (action, already, back) == (action_now, already_now, back_now))
        }
        _ => then == now,
    }
}

/// Two events, each in the words that set it apart from the other.
fn in_contrast(then: &Event, now: &Event) -> (String, String) {
    let told = |cautions: &[Told]| {
        let names: Vec<_> = cautions.iter().map(|told| told.id.as_str()).collect();
        format!("the cautions {}", words::all(&names))
    };
    match (then, now) {
        (
            Event::Answered { prompt, answer, verdict, .. },
            Event::Answered { prompt: prompt_now, answer: answer_now, verdict: verdict_now, .. },
        ) if prompt.id == prompt_now.id => {
            let verdict_words = |verdict: &Option<crate::model::limits::Verdict>| {
                verdict.map_or_else(|| "without a verdict".to_owned(), |verdict| format!("the verdict {verdict}"))
            };
            if verdict != verdict_now {
                let of = |words: String| format!("{words} at `{}`", prompt.id);
                (of(verdict_words(verdict)), of(verdict_words(verdict_now)))
            } else if answer == answer_now {
                (
                    format!("{} as it was asked then", prompt.in_words()),
                    format!("{} asked otherwise", prompt_now.in_words()),
                )
            } else {
                (format!("another answer to `{}`", prompt.id), format!("the answer to `{}` read otherwise", prompt.id))
            }
        }
        (Event::Cautioned { cautions }, Event::Cautioned { cautions: cautions_now }) => {
            (told(cautions), told(cautions_now))
        }
        (_, Event::Cautioned { cautions }) => (what(then), told(cautions)),
        (Event::Cautioned { cautions }, _) => (told(cautions), what(now)),
        _ => (what(then), what(now)),
    }
}

impl Clock for RecordedRun {
    /// An action has the time at which it was done; cautions are weighed when they were told, and else right after what
    /// happened last.
    fn now(&mut self) -> Stamp {
        let mut state = self.state();
        let acting = std::mem::take(&mut state.acting);
        let position = state.position;
        let index = match state.next() {
            Some(Event::Cautioned { .. }) => position,
            Some(Event::Acted { .. }) if acting => position,
            _ => position.saturating_sub(1),
        };
        state.original.get(index).or(state.original.last()).map_or_else(|| Stamp::new(""), |entry| entry.at.clone())
    }
}

impl Answerer for RecordedRun {
    fn answered_by(&self) -> AnsweredBy {
        AnsweredBy::Record
    }

    fn failed_here(&self) -> bool {
        matches!(self.state().next(), Some(Event::Ended { ending: Ending::Failed { .. } }))
    }

    fn durability(&self) -> Durability {
        Durability::AtEnd
    }

    fn caution(&mut self, rules: &[&Rule]) -> Acknowledgement {
        let state = self.state();
        if state.is_over() {
            return Acknowledgement::Pause;
        }
        match state.next() {
            Some(Event::Acknowledged { by_person: true, qualified, .. }) => {
                Acknowledgement::Read { qualified: qualified.clone() }
            }
            Some(Event::Acknowledged { by_person: false, .. }) => Acknowledgement::Nobody,
            Some(Event::Paused) => Acknowledgement::Pause,
            // What needs to be read was not read.
            Some(Event::Struck { id, reading: None, .. })
                if rules.iter().any(|rule| rule.word.needs_acknowledgement() || rule.qualified_person) =>
            {
                Acknowledgement::Back { to: Some(id.clone()) }
            }
            Some(Event::Ended { .. }) if rules.iter().any(|rule| rule.qualified_person) => Acknowledgement::Refused,
            None => Acknowledgement::Pause,
            Some(_) => Acknowledgement::Read { qualified: None },
        }
    }

    fn act(&mut self, action: &Action, _view: View<'_>) -> Reply {
        let mut state = self.state();
        if state.is_over() {
            return Reply::Pause;
        }
        let reply = match state.next() {
            Some(Event::Acted { action: then, .. }) if then == action => Reply::enter(),
            Some(Event::Ended { ending }) => match ending.why_not_done(&action.to_string()) {
                Some(why) => Reply::Skip { reason: why.to_owned() },
                None => Reply::Nobody,
            },
            next => other(next),
        };
        if reply == Reply::enter() {
            state.acting = true;
        } else if reply == Reply::Nobody && !matches!(state.next(), Some(Event::Waited { .. })) {
            state.stray(&format!("the action \u{201c}{action}\u{201d}"));
        }
        reply
    }

    fn answer(&mut self, prompt: &Prompt, _view: View<'_>) -> Reply {
        self.state().reply(prompt)
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, _so_far: &[SweepReading], _view: View<'_>) -> Reply {
        let mut state = self.state();
        match state.next() {
            Some(Event::SweepRead { id, text, position }) if *id == prompt.id && !state.is_over() => {
                Reply::text(SweepReading::as_typed(text, position.as_deref()))
            }
            _ => state.reply(prompt),
        }
    }

    fn refused(&mut self, problem: &str) -> bool {
        let mut state = self.state();
        state.stray(problem);
        false
    }

    fn doubt(&mut self, prompt: &Prompt, _typed: &str, _doubt: &Doubt, _view: View<'_>) -> Reply {
        self.state().reply(prompt)
    }

    fn needs(&mut self, id: &PromptId, _why: &str) -> Reply {
        let mut state = self.state();
        match state.next() {
            Some(Event::Struck { id: struck, .. }) if struck == id => Reply::Back { to: Some(id.clone()) },
            Some(Event::Ended { ending: Ending::Unfinished { .. } }) => Reply::enter(),
            Some(Event::Paused) => Reply::Pause,
            _ if state.at_a_break() => {
                state.broken_off = true;
                Reply::Pause
            }
            _ => Reply::Nobody,
        }
    }

    fn concludes(&mut self, _causes: &[NamedCause]) -> Reply {
        let mut state = self.state();
        if state.at_a_break() {
            state.broken_off = true;
        }
        if state.is_over() {
            return Reply::Pause;
        }
        match other(state.next()) {
            Reply::Nobody => Reply::enter(),
            reply => reply,
        }
    }

    fn recorded(&mut self, entry: &Entry, replayed: bool) {
        if !replayed {
            self.state().recorded(&entry.event);
        }
    }

    fn confirm_vehicle(&mut self, _left: &VehicleState) -> Option<VehicleState> {
        let mut state = self.state();
        let seen = !matches!(state.next(), Some(Event::Resumed { unseen: true, .. }));
        state.vehicle_seen = seen;
        match state.next() {
            _ if state.is_over() => None,
            Some(Event::Resumed { vehicle, .. }) => Some(VehicleState::clone(vehicle)),
            Some(Event::Paused) => None,
            _ => {
                state.stray("the vehicle's state to be confirmed");
                None
            }
        }
    }

    /// Older records have it each time.
    fn confirms_again(&self) -> bool {
        matches!(self.state().next(), Some(Event::Resumed { .. }))
    }

    /// Older records have nothing of it.
    fn brings_back(&self) -> bool {
        let state = self.state();
        let mut ahead = state.original.iter().skip(state.position).map(|entry| &entry.event);
        let next = ahead.find(|event| {
            !matches!(event, Event::Cautioned { .. } | Event::Acknowledged { .. } | Event::Noted { .. } | Event::Paused)
        });
        !next.is_some_and(|next| next.is_of_the_script() || matches!(next, Event::Doubted { .. }))
    }

    fn went_back_by(&self, action: &Action) -> bool {
        let state = self.state();
        for entry in state.original.iter().skip(state.position) {
            match &entry.event {
                Event::Acted { action: done, back: true, .. } if done == action => return true,
                Event::Acted { back: true, .. }
                | Event::Cautioned { .. }
                | Event::Acknowledged { .. }
                | Event::Noted { .. } => {}
                Event::Paused | Event::Waited { .. } => return true,
                Event::Ended { ending } => return ending.why_not_done(&action.to_string()).is_some(),
                _ => return false,
            }
        }
        false
    }

    /// Older records find the engine cranking where it is cranked again.
    fn starter_rests(&self) -> bool {
        let state = self.state();
        let mut ahead = state.original.iter().skip(state.position).map(|entry| &entry.event);
        !ahead
            .find(|event| matches!(event, Event::Acted { action: Action::Crank, .. }))
            .is_some_and(|next| matches!(next, Event::Acted { already: true, .. }))
    }

    /// Older records have it done.
    fn did_pending_action(&self, action: &Action) -> bool {
        let state = self.state();
        let mut ahead = state.original.iter().skip(state.position).map(|entry| &entry.event);
        let next = ahead.find(|event| !matches!(event, Event::Cautioned { .. } | Event::Acknowledged { .. }));
        matches!(next, Some(Event::Acted { action: done, .. }) if done == action)
    }

    /// Older records were not asked about all of it.
    fn is_asked_every_doubt(&self) -> bool {
        matches!(self.state().next(), Some(Event::Doubted { .. }))
    }

    fn doubted_then(&self, id: &PromptId) -> Option<Doubt> {
        match self.state().next() {
            Some(Event::Doubted { id: of, doubt, .. }) if of == id => Some(doubt.clone()),
            _ => None,
        }
    }

    fn vehicle_was_seen(&self) -> bool {
        self.state().vehicle_seen
    }

    fn carried(&self) -> bool {
        self.state().carried
    }
}
