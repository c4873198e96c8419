//! What may be kept after a change: the later answers, each with the vehicle in which it was given.

use crate::model::event::{Entry, Event};
use crate::model::origin::Origin;
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::Record;
use crate::model::record::given::Answered;
use crate::model::vehicle::{Action, VehicleState};
use std::collections::BTreeSet;
use std::sync::Arc;

/// What may be kept after a change. As long as it is on, nothing is done at the vehicle.
#[derive(Default)]
pub(in crate::run) struct Keeping {
    pub(super) is_on: bool,
    /// What was meant by the answer that was mistyped.
    pub(super) meant: Option<(PromptId, Arc<str>, Origin)>,
    pub(super) later: Vec<Later>,
    is_of_a_change: bool,
}

/// A later answer, with the vehicle in which it was given.
pub(super) struct Later {
    pub(super) answered: Answered,
    vehicle: VehicleState,
    /// Whether anything on a reading's path may have been opened since, and closed again.
    was_opened: bool,
}

impl Keeping {
    /// After the last change, unless an answer was taken back since.
    pub(in crate::run) fn of(entries: &[Entry]) -> Self {
        let last = entries
            .iter()
            .rposition(|entry| matches!(entry.event, Event::Changed { .. } | Event::Struck { reading: None, .. }));
        let Some((at, Event::Changed { line, id, new, origin, .. })) = last.map(|at| (at, &entries[at].event)) else {
            return Self::default();
        };
        let Ok(before) = Record::of(&entries[..at]) else { return Self::default() };
        // What was only mistyped was measured before anything was opened after it.
        let is_mistyped = new.is_some();
        let later = before
            .answers()
            .filter(|answered| answered.line > *line)
            .map(|answered| {
                let given = answered.kept_from.unwrap_or(answered.line);
                let since = if is_mistyped { at } else { given };
                Later {
                    answered: answered.clone(),
                    vehicle: vehicle_at(entries, given),
                    was_opened: entries.iter().skip(since).any(|entry| opens(&entry.event)),
                }
            })
            .collect();
        let meant = new.as_ref().map(|new| (id.clone(), Arc::clone(new), origin.clone()));
        Self { is_on: true, meant, later, is_of_a_change: true }
    }

    /// Whether nothing is done at the vehicle now.
    pub(in crate::run) const fn is_on(&self) -> bool {
        self.is_on
    }

    /// Whether the last thing that was taken back was changed.
    pub(in crate::run) const fn is_of_a_change(&self) -> bool {
        self.is_of_a_change
    }

    /// After a question that was asked: what was not come to yet may still be kept.
    pub(in crate::run) fn goes_on(&mut self, asked: &BTreeSet<PromptId>) {
        self.is_on = self.later.iter().any(|later| !asked.contains(&later.answered.prompt.id));
    }
}

/// The vehicle as it stood at a line.
fn vehicle_at(entries: &[Entry], line: usize) -> VehicleState {
    let mut vehicle = VehicleState::default();
    for entry in entries.iter().take(line) {
        match &entry.event {
            Event::Started(started) => vehicle.clone_from(&started.vehicle),
            Event::Acted { action, already: false, .. } => vehicle = vehicle.after(action, Some(entry.at.minute())),
            Event::Resumed { vehicle: then, .. } => vehicle.clone_from(then),
            _ => {}
        }
    }
    vehicle
}

/// Whether a contact was parted or put together.
const fn opens(event: &Event) -> bool {
    matches!(
        event,
        Event::Acted {
            already: false,
            action: Action::Unplug { .. }
                | Action::Plug { .. }
                | Action::TakeOut { .. }
                | Action::PutBack { .. }
                | Action::MoveBatteryCable { .. },
            ..
        }
    )
}

impl Later {
    /// Why it can't be kept for this prompt and the vehicle as the script has it, if it can't.
    pub(super) fn why_not(&self, prompt: &Prompt, vehicle: &VehicleState) -> Option<&'static str> {
        let question = &self.answered.prompt.question;
        if !question.asks_the_same_as(&prompt.question) || question.unit() != prompt.question.unit() {
            Some("it is asked in another way now")
        } else if !self.vehicle.reads_like(vehicle) {
            Some("the vehicle stood otherwise")
        } else if self.was_opened {
            Some("a connector or a part was opened since")
        } else {
            None
        }
    }
}
