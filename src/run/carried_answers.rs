//! Answers from an earlier record: taken over where id, quantity, points and vehicle state agree, else asked.

use super::answerer::Answerer;
use super::meaning::as_typed;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::model::event::{Entry, Event};
use crate::model::origin::Origin;
use crate::model::prompt::{Answer, Prompt, PromptId};
use crate::model::record::given::SweepReading;
use crate::model::vehicle::VehicleState;
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
    /// What the last answer was taken over for.
    carried: Option<PromptId>,
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
        Self { entries, old, then, carried: None }
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

impl CarriedAnswers {
    /// What the earlier record has to this, if it has.
    fn form(&self, request: Request<'_>, view: View<'_>) -> Option<Form> {
        match request {
            Request::Answer { prompt } => self.find(prompt, view).map(|(answer, _)| as_typed(answer)),
            Request::NextOfSweep { prompt, so_far } => self.find(prompt, view).map(|(answer, old)| match answer {
                Answer::Skipped { reason } => Form::Skip { reason: reason.clone() },
                _ => Form::text(self.reading_of(old, so_far.len())),
            }),
            // It was asked about then, and what stands in the record stands.
            Request::Doubt { typed, .. } => self.carried.as_ref().map(|_| Form::text(typed)),
            _ => None,
        }
    }
}

impl Answerer for CarriedAnswers {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        let form = self.form(request, view);
        if let Request::Answer { prompt } | Request::NextOfSweep { prompt, .. } = request {
            self.carried = form.as_ref().map(|_| prompt.id.clone());
        }
        match form {
            Some(form) => form.from(Origin::CarriedOver),
            None => self.then.ask(request, view),
        }
    }

    fn notice(&mut self, notice: Notice<'_>) {
        match notice {
            Notice::Refused { .. } => {
                // What was taken once is asked for again when it can't be taken now.
                if let Some(id) = self.carried.take() {
                    self.old.remove(&id);
                }
            }
            Notice::Recorded {
                entry: Entry { event: Event::Struck { id, reading: None, .. }, .. },
                replayed: false,
                ..
            } => {
                // What was taken back is asked anew, and what came after it then.
                if let Some(from) = self.old.get(id).map(|old| old.at) {
                    self.old.retain(|_, old| old.at < from);
                }
            }
            _ => {}
        }
        self.then.notice(notice);
    }
}
