//! After a change: the script runs again over the answers, and a later one is kept where nothing has touched it.

use crate::model::event::{Entry, Event};
use crate::model::origin::Origin;
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::{Answered, Record};
use crate::model::vehicle::{Action, VehicleState};
use crate::run::ask::SweepSoFar;
use crate::run::events;
use crate::run::meaning::{Asked, take};
use crate::run::notice::Notice;
use crate::run::phase::{Hands, Phase};
use crate::run::reply::CameFrom;
use crate::run::session::Session;
use crate::run::stop::Stop;
use std::collections::BTreeSet;
use std::sync::Arc;

/// What may be kept after a change. As long as it is on, nothing is done at the vehicle.
#[derive(Default)]
pub(in crate::run) struct Keeping {
    is_on: bool,
    /// What was meant by the answer that was mistyped.
    meant: Option<(PromptId, Arc<str>, Origin)>,
    later: Vec<Later>,
    is_of_a_change: bool,
}

/// A later answer, with the vehicle in which it was given.
struct Later {
    answered: Answered,
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

impl Session {
    /// From here on things are asked and done again, at the vehicle as it is.
    pub(in crate::run) fn stop_keeping(&mut self) -> Result<(), Stop> {
        if !std::mem::take(&mut self.kept.is_on) {
            return Ok(());
        }
        if let Ok(record) = Record::of(&self.entries) {
            self.vehicle = record.vehicle;
        }
        self.monitor.forget();
        if self.phase.is_live() {
            self.phase = Phase::LooksFirst(Hands::Hold);
            Ok(())
        } else {
            self.go_live()
        }
    }

    /// An action while answers are kept: the script has it so, and nothing is done yet. `false` where it has to be done.
    pub(in crate::run) fn passes_over(&mut self, action: &Action) -> Result<bool, Stop> {
        if let Action::CarryOut { .. } = action {
            // What the author's words do is not known: it was done, or nothing that comes after it can be kept.
            let done = |entry: &Entry| matches!(&entry.event, Event::Acted { action: done, already: false, .. } if done == action);
            if !self.entries.iter().any(done) {
                self.stop_keeping()?;
                self.kept.later.clear();
                return Ok(false);
            }
        }
        self.told_by_question = false;
        self.was_carried_out(action, false);
        let after = self.vehicle.after(action, Some(self.clock.now().minute()));
        let lasting = !matches!(action, Action::Wait { .. } | Action::CarryOut { .. });
        let mut event = Event::acted(action.clone(), true);
        if !lasting || after != self.vehicle {
            if let Event::Acted { passed_over, .. } = &mut event {
                *passed_over = true;
            }
        }
        self.vehicle = after;
        self.record(event)?;
        Ok(true)
    }

    /// The answer that is kept; `None` where it has to be asked, and then things are asked.
    pub(in crate::run) fn keep(&mut self, prompt: &Arc<Prompt>, sweep: &mut SweepSoFar) -> Result<Option<Asked>, Stop> {
        if let Some((_, text, origin)) = self.kept.meant.take_if(|(id, ..)| *id == prompt.id) {
            if let Ok(asked) = take(prompt, text, &self.meter) {
                return self.accept(Arc::clone(prompt), asked, &CameFrom { origin, id: None }).map(Some);
            }
        }
        let found = self.kept.later.iter().find(|later| later.answered.prompt.id == prompt.id);
        let Some(later) = found else {
            self.stop_keeping()?;
            return Ok(None);
        };
        let answered = &later.answered;
        let why = if !answered.prompt.question.asks_the_same_as(&prompt.question)
            || answered.prompt.question.unit() != prompt.question.unit()
        {
            Some("it is asked in another way now")
        } else if !later.vehicle.reads_like(&self.vehicle) {
            Some("the vehicle stood otherwise")
        } else if later.was_opened {
            Some("a connector or a part was opened since")
        } else {
            None
        };
        if let Some(why) = why {
            let text = format!("`{}` is asked again: {why}.", prompt.id);
            self.answerer.notice(Notice::Remark { text: &text });
            self.stop_keeping()?;
            return Ok(None);
        }
        let (answered, from) = (answered.clone(), CameFrom { origin: answered.origin.clone(), id: None });
        self.record(Event::Kept { line: answered.kept_from.unwrap_or(answered.line) })?;
        for reading in answered.sweep.iter().skip(sweep.readings.len()) {
            self.record(events::sweep_read(prompt.id.clone(), reading.clone(), &from))?;
            sweep.push(self.lines(), reading.clone(), None);
        }
        let mut asked = self.meant(prompt, answered.answer)?;
        if let (crate::model::prompt::Question::Sweep { .. }, Some(unit)) = (&prompt.question, prompt.question.unit()) {
            asked = self.understood_sweep(prompt, asked, std::mem::take(sweep), unit)?;
        }
        self.accept(Arc::clone(prompt), asked, &from).map(Some)
    }
}
