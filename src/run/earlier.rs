//! Answers from an earlier record: taken over where id, quantity, points and vehicle state agree, else asked.

use super::answerer::{Answerer, Heeded, Reply, View};
use super::journal::Durability;
use crate::model::caution::Rule;
use crate::model::event::{AnsweredBy, Doubt, Entry, Event};
use crate::model::prompt::{Answer, Prompt, PromptId, Question};
use crate::model::record::SweepReading;
use crate::model::vehicle::{Action, VehicleState};
use std::collections::BTreeMap;

struct Old {
    question: Question,
    vehicle: VehicleState,
    answer: Answer,
    sweep: Vec<SweepReading>,
}

/// The answers of an earlier record, and somebody to ask for what it lacks.
pub struct Earlier {
    old: BTreeMap<PromptId, Old>,
    then: Box<dyn Answerer>,
    asked: Option<PromptId>,
    carried: bool,
}

impl Earlier {
    /// The answers of `entries`; what they lack is asked of `then`.
    pub fn new(entries: &[Entry], then: Box<dyn Answerer>) -> Self {
        let mut old: BTreeMap<PromptId, (usize, Old)> = BTreeMap::new();
        let mut vehicle = VehicleState::default();
        let mut sweep = Vec::new();
        for (index, entry) in entries.iter().enumerate() {
            match &entry.event {
                Event::Started(started) => vehicle = started.vehicle.clone(),
                Event::Resumed { vehicle: confirmed, .. } => vehicle = confirmed.clone(),
                Event::Acted { action, already: false } => vehicle = vehicle.after(action, Some(entry.at.minute())),
                Event::SweepRead { text, position, .. } => {
                    sweep.push(SweepReading { text: text.clone(), position: position.clone() });
                }
                Event::Answered { prompt, answer, .. } => {
                    let answered = Old {
                        question: prompt.question.clone(),
                        vehicle: vehicle.clone(),
                        answer: answer.clone(),
                        sweep: std::mem::take(&mut sweep),
                    };
                    old.insert(prompt.id.clone(), (index + 1, answered));
                }
                Event::Struck { reading: Some(_), .. } => _ = sweep.pop(),
                Event::Struck { from_line, reading: None, .. } => {
                    sweep.clear();
                    old.retain(|_, (line, _)| *line < *from_line);
                }
                _ => {}
            }
        }
        let old = old.into_iter().map(|(id, (_, answered))| (id, answered)).collect();
        Self { old, then, asked: None, carried: false }
    }

    fn find(&self, prompt: &Prompt, view: View<'_>) -> Option<&Old> {
        self.old
            .get(&prompt.id)
            .filter(|old| old.question.asks_the_same_as(&prompt.question) && same_state(&old.vehicle, view.vehicle))
    }
}

/// Whether a reading taken in one state says something about the other. When the engine was stopped makes no difference
/// to a circuit.
fn same_state(one: &VehicleState, other: &VehicleState) -> bool {
    let timeless = |state: &VehicleState| VehicleState { engine_stopped_at: None, ..state.clone() };
    timeless(one) == timeless(other)
}

impl Answerer for Earlier {
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
    fn caution(&mut self, rules: &[&Rule]) -> Heeded {
        self.then.caution(rules)
    }
    fn act(&mut self, action: &Action, view: View<'_>) -> Reply {
        self.then.act(action, view)
    }
    fn answer(&mut self, prompt: &Prompt, view: View<'_>) -> Reply {
        self.carried = false;
        let reply = self.find(prompt, view).map(|old| match &old.answer {
            Answer::Reading { typed } => Reply::Text(typed.clone()),
            Answer::LowestHighest { lowest, highest } => Reply::Text(format!("{lowest} {highest}")),
            Answer::YesNo { yes } => Reply::Text(if *yes { "yes" } else { "no" }.to_owned()),
            Answer::Choice { option } => Reply::Text(option.clone()),
            Answer::Note { words } => Reply::Text(words.clone()),
            Answer::Skipped { reason } => Reply::Skip { reason: reason.clone() },
            Answer::Sweep { .. } => Reply::Nobody,
        });
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
        let next = self.find(prompt, view).map(|old| match &old.answer {
            Answer::Skipped { reason } => Reply::Skip { reason: reason.clone() },
            _ => match old.sweep.get(so_far.len()) {
                Some(SweepReading { text, position: Some(position) }) => Reply::Text(format!("{text} @ {position}")),
                Some(SweepReading { text, position: None }) => Reply::Text(text.clone()),
                None => Reply::Text(String::new()),
            },
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
            return Reply::Text(typed.to_owned());
        }
        self.then.doubt(prompt, typed, doubt, view)
    }
    fn recorded(&mut self, entry: &Entry, replayed: bool) {
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
