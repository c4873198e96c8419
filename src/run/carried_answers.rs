//! Answers from an earlier record: taken over where id, quantity, points and vehicle state agree, else asked.

use super::answerer::{Acknowledgement, Answerer, Reply, View};
use super::journal::Durability;
use super::meaning::as_typed;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::{AnsweredBy, Entry, Event, NamedCause};
use crate::model::prompt::{Answer, Prompt, PromptId};
use crate::model::record::SweepReading;
use crate::model::vehicle::{Action, VehicleState};
use std::collections::BTreeMap;
use std::sync::Arc;

/// An answer of the earlier record: where it stands there, and how the vehicle stood then.
struct Old {
    at: usize,
    vehicle: Arc<VehicleState>,
    /// Where the readings of a sweep stand.
    sweep: Vec<usize>,
}

/// The answers of an earlier record, and somebody to ask for what it lacks.
pub struct CarriedAnswers {
    entries: Arc<Vec<Entry>>,
    old: BTreeMap<PromptId, Old>,
    then: Box<dyn Answerer>,
    asked: Option<PromptId>,
    carried: bool,
}

impl CarriedAnswers {
    /// The answers of `entries`; what they lack is asked of `then`.
    pub fn new(entries: Arc<Vec<Entry>>, then: Box<dyn Answerer>) -> Self {
        let mut old: BTreeMap<PromptId, Old> = BTreeMap::new();
        let mut vehicle = Arc::new(VehicleState::default());
        let mut sweep = Vec::new();
        for (at, entry) in entries.iter().enumerate() {
            match &entry.event {
                Event::Started(started) => vehicle = Arc::new(started.vehicle.clone()),
                Event::Resumed { vehicle: confirmed, .. } => vehicle = Arc::new(VehicleState::clone(confirmed)),
                Event::Acted { action, already: false, .. } => {
                    vehicle = Arc::new(vehicle.after(action, Some(entry.at.minute())));
                }
                Event::SweepRead { .. } => sweep.push(at),
                Event::Answered { prompt, .. } => {
                    let sweep = std::mem::take(&mut sweep);
                    old.insert(prompt.id.clone(), Old { at, vehicle: Arc::clone(&vehicle), sweep });
                }
                Event::Struck { reading: Some(_), .. } => _ = sweep.pop(),
                Event::Struck { from_line, reading: None, .. } => {
                    sweep.clear();
                    old.retain(|_, answer| answer.at + 1 < *from_line);
                }
                _ => {}
            }
        }
        Self { entries, old, then, asked: None, carried: false }
    }

    fn find(&self, prompt: &Prompt, view: View<'_>) -> Option<(&Answer, &Old)> {
        let old = self.old.get(&prompt.id)?;
        match &self.entries.get(old.at)?.event {
            Event::Answered { prompt: then, answer, .. }
                if then.question.asks_the_same_as(&prompt.question) && old.vehicle.reads_like(view.vehicle) =>
            {
                Some((answer, old))
            }
            _ => None,
        }
    }

    /// One reading of a sweep as it would be typed; empty behind the last one.
    fn reading_of(&self, old: &Old, number: usize) -> String {
        match old.sweep.get(number).and_then(|at| self.entries.get(*at)).map(|entry| &entry.event) {
            Some(Event::SweepRead { text, position, .. }) => SweepReading::as_typed(text, position.as_deref()),
            _ => String::new(),
        }
    }
}

impl Answerer for CarriedAnswers {
    fn answered_by(&self) -> AnsweredBy {
        self.then.answered_by()
    }
    fn durability(&self) -> Durability {
        self.then.durability()
    }
    fn step(&mut self, view: View<'_>) {
        self.then.step(view);
    }
    fn why(&mut self, text: &str) {
        self.then.why(text);
    }
    fn remark(&mut self, text: &str) {
        self.then.remark(text);
    }
    fn caution(&mut self, rules: &[&Rule]) -> Acknowledgement {
        self.then.caution(rules)
    }
    fn prepare(&mut self, prompt: &Prompt) {
        self.then.prepare(prompt);
    }
    fn act(&mut self, action: &Action, view: View<'_>) -> Reply {
        self.then.act(action, view)
    }
    fn answer(&mut self, prompt: &Prompt, view: View<'_>) -> Reply {
        self.carried = false;
        let reply = self.find(prompt, view).map(|(answer, _)| as_typed(answer));
        match reply {
            Some(reply) => {
                self.carried = true;
                self.asked = Some(prompt.id.clone());
                reply
            }
            None => self.then.answer(prompt, view),
        }
    }
    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], view: View<'_>) -> Reply {
        self.carried = false;
        let next = self.find(prompt, view).map(|(answer, old)| match answer {
            Answer::Skipped { reason } => Reply::Skip { reason: reason.clone() },
            _ => Reply::text(self.reading_of(old, so_far.len())),
        });
        match next {
            Some(reply) => {
                self.carried = true;
                self.asked = Some(prompt.id.clone());
                reply
            }
            None => self.then.next_of_sweep(prompt, so_far, view),
        }
    }
    fn refused(&mut self, problem: &str) -> bool {
        // What was taken once is asked for again when it can't be taken now.
        if let Some(id) = self.asked.take().filter(|_| self.carried) {
            self.old.remove(&id);
        }
        self.carried = false;
        self.then.refused(problem)
    }
    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt, view: View<'_>) -> Reply {
        if self.carried {
            // It was asked about then, and what stands in the record stands.
            return Reply::text(typed.to_owned());
        }
        self.then.doubt(prompt, typed, doubt, view)
    }
    fn needs(&mut self, id: &PromptId, why: &str) -> Reply {
        self.then.needs(id, why)
    }
    fn concludes(&mut self, causes: &[NamedCause]) -> Reply {
        self.then.concludes(causes)
    }
    fn recorded(&mut self, entry: &Entry, replayed: bool) {
        if let (Event::Struck { id, reading: None, .. }, false) = (&entry.event, replayed)
            && let Some(from) = self.old.get(id).map(|old| old.at)
        {
            // What was taken back is asked anew, and what came after it then.
            self.old.retain(|_, old| old.at < from);
        }
        self.then.recorded(entry, replayed);
    }
    fn live(&mut self) {
        self.then.live();
    }
    fn confirm_vehicle(&mut self, left: &VehicleState) -> Option<VehicleState> {
        self.then.confirm_vehicle(left)
    }
    fn vehicle_was_seen(&self) -> bool {
        self.then.vehicle_was_seen()
    }
    fn carried(&self) -> bool {
        self.carried
    }
}
