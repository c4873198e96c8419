//! What may be kept after a change: the later answers, each with the vehicle in which it was given.

use crate::model::event::{Entry, Event};
use crate::model::meter::Function;
use crate::model::origin::Origin;
use crate::model::points::Points;
use crate::model::prompt::{Leads, Prompt, PromptId};
use crate::model::record::Record;
use crate::model::record::given::{Answered, SweepReading};
use crate::model::vehicle::{Action, VehicleState};
use std::collections::BTreeSet;
use std::sync::Arc;

/// What may be kept after a change. As long as it is on, nothing is done at the vehicle.
#[derive(Default)]
pub(in crate::run) struct Keeping {
    pub(super) is_on: bool,
    pub(super) meant: Option<Meant>,
    pub(super) later: Vec<Later>,
    is_of_a_change: bool,
}

/// What was meant by the answer that was mistyped.
pub(super) struct Meant {
    pub(super) id: PromptId,
    pub(super) text: Arc<str>,
    pub(super) origin: Origin,
    /// The readings of a sweep, of which one was mistyped.
    pub(super) was: Vec<SweepReading>,
}

/// A later answer, with the vehicle in which it was given.
pub(super) struct Later {
    pub(super) answered: Answered,
    vehicle: VehicleState,
    /// What was opened since, and closed again.
    opened: Vec<Action>,
}

impl Keeping {
    /// After the last change, unless an answer was taken back since.
    pub(in crate::run) fn of(entries: &[Entry]) -> Self {
        let last = entries
            .iter()
            .rposition(|entry| matches!(entry.event, Event::Changed { .. } | Event::Struck { reading: None, .. }));
        let Some((at, event @ Event::Changed { line, .. })) = last.map(|at| (at, &entries[at].event)) else {
            return Self::default();
        };
        let Ok(before) = Record::of(&entries[..at]) else { return Self::default() };
        let Some(changed) = before.answers().find(|answered| answered.line == *line) else { return Self::default() };
        Self::since(entries, at, &before, changed, event)
    }

    /// What may be kept if this change is made now.
    pub(super) fn after(entries: &[Entry], changed: &Answered, event: &Event) -> Self {
        match Record::of(entries) {
            Ok(before) => Self::since(entries, entries.len(), &before, changed, event),
            Err(_) => Self::default(),
        }
    }

    fn since(entries: &[Entry], at: usize, before: &Record, changed: &Answered, event: &Event) -> Self {
        let Event::Changed { id, new, origin, .. } = event else { return Self::default() };
        // What was only mistyped was measured before anything was opened after it.
        let is_mistyped = new.is_some();
        let later = before
            .answers()
            .filter(|answered| answered.line > changed.line)
            .map(|answered| {
                let given = answered.kept_from.unwrap_or(answered.line);
                let since = if is_mistyped { at } else { given };
                Later {
                    answered: answered.clone(),
                    vehicle: vehicle_at(entries, given),
                    opened: entries.iter().skip(since).filter_map(|entry| opens(&entry.event)).cloned().collect(),
                }
            })
            .collect();
        let meant = new.as_ref().map(|text| Meant {
            id: id.clone(),
            text: Arc::clone(text),
            origin: origin.clone(),
            was: changed.sweep.clone(),
        });
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

    /// The later answers that can't be kept, each with its reason, and those that may be.
    pub(super) fn foreseen(&self, points: Option<&Points>) -> (Vec<String>, Vec<String>) {
        let (mut again, mut kept) = (Vec::new(), Vec::new());
        for later in &self.later {
            let id = &later.answered.prompt.id;
            match later.opened_on_its_path(points) {
                Some(action) => again.push(format!("`{id}` (since it was read: {action})")),
                None => kept.push(format!("`{id}`")),
            }
        }
        (again, kept)
    }

    /// The later answers that were not asked again.
    pub(super) fn not_come_to(&self, asked: &BTreeSet<PromptId>) -> Vec<String> {
        let ids = self.later.iter().map(|later| &later.answered.prompt.id);
        ids.filter(|id| !asked.contains(*id)).map(|id| format!("`{id}`")).collect()
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

/// What parted a contact or put it together.
const fn opens(event: &Event) -> Option<&Action> {
    match event {
        Event::Acted {
            already: false,
            action:
                action @ (Action::Unplug { .. }
                | Action::Plug { .. }
                | Action::TakeOut { .. }
                | Action::PutBack { .. }
                | Action::MoveBatteryCable { .. }),
            ..
        } => Some(action),
        _ => None,
    }
}

impl Later {
    /// Why it can't be kept for this prompt and the vehicle as the script has it, if it can't.
    pub(super) fn why_not(
        &self,
        prompt: &Prompt,
        vehicle: &VehicleState,
        points: Option<&Points>,
    ) -> Option<&'static str> {
        let question = &self.answered.prompt.question;
        if !question.asks_the_same_as(&prompt.question) || question.unit() != prompt.question.unit() {
            Some("it is asked in another way now")
        } else if !self.vehicle.reads_like(vehicle) {
            Some("the vehicle stood otherwise")
        } else if self.opened_on_its_path(points).is_some() {
            Some("a connector or a part was opened since")
        } else {
            None
        }
    }

    /// What was opened since on the path of the reading. A circuit tells for volts what is on it; without one, and for all else
    /// that is read or seen, anything may be.
    fn opened_on_its_path(&self, points: Option<&Points>) -> Option<&Action> {
        let question = &self.answered.prompt.question;
        let leads = match (question.function(), question.leads(), points) {
            (Some(Function::Volts | Function::AcVolts), Some(Leads::Across { red, black }), Some(points)) => {
                Some((points, red, black))
            }
            _ => None,
        };
        self.opened.iter().find(|action| {
            leads.is_none_or(|(points, red, black)| {
                points.paths.between(&self.vehicle, &red.name, &black.name, action).unwrap_or(true)
            })
        })
    }
}
