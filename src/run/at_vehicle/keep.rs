//! After a change the script runs again over the answers: one is kept where nothing has touched it, and nothing is done at the
//! vehicle before something is asked.

use crate::model::event::{Entry, Event};
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::record::Record;
use crate::model::record::given::SweepReading;
use crate::model::vehicle::Action;
use crate::run::ask::sweep_so_far::SweepSoFar;
use crate::run::at_vehicle::change::corrected;
use crate::run::at_vehicle::phase::{Hands, Phase};
use crate::run::events;
use crate::run::meaning::{Asked, take};
use crate::run::notice::Notice;
use crate::run::reply::CameFrom;
use crate::run::session::Session;
use crate::run::stop::Stop;
use std::sync::Arc;

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
        if let Event::Acted { passed_over, .. } = &mut event {
            *passed_over = !lasting || after != self.vehicle;
        }
        self.vehicle = after;
        self.record(event)?;
        Ok(true)
    }

    /// The answer that is kept; `None` where it has to be asked, and then things are asked.
    pub(in crate::run) fn keep(
        &mut self,
        prompt: &Arc<Prompt>,
        sweep: &mut SweepSoFar,
        is_doubted: bool,
    ) -> Result<Option<Asked>, Stop> {
        if let Some(meant) = self.kept.meant.take_if(|meant| meant.id == prompt.id) {
            let from = CameFrom { origin: meant.origin, id: None };
            if let (Question::Sweep { .. }, Some(unit)) = (&prompt.question, prompt.question.unit()) {
                if let Ok(readings) = corrected(prompt, &meant.was, &meant.text) {
                    self.sweep_again(prompt, sweep, &readings, &from)?;
                    let asked = self.meant(prompt, Answer::Sweep { readings: readings.len() })?;
                    let asked = self.understood_sweep(prompt, asked, std::mem::take(sweep), unit)?;
                    return self.accept(Arc::clone(prompt), asked, &from).map(Some);
                }
            } else if let Ok(asked) = take(prompt, Arc::clone(&meant.text), &self.meter) {
                let Some(doubt) = self.doubt_about(prompt, &asked) else {
                    return self.accept(Arc::clone(prompt), asked, &from).map(Some);
                };
                // The technician was asked about it when it was changed, and accepted it.
                if !is_doubted {
                    self.record(Event::Doubted { id: prompt.id.clone(), typed: meant.text, doubt })?;
                }
                return self.accept_doubted(Arc::clone(prompt), asked, &from).map(Some);
            }
        }
        let found = self.kept.later.iter().find(|later| later.answered.prompt.id == prompt.id);
        let Some(later) = found else {
            self.stop_keeping()?;
            return Ok(None);
        };
        let answered = &later.answered;
        let why = later.why_not(prompt, &self.vehicle, self.points.as_deref());
        if let Some(why) = why {
            let text = format!("`{}` is asked again: {why}.", prompt.id);
            self.answerer.notice(Notice::Remark { text: &text });
            self.stop_keeping()?;
            return Ok(None);
        }
        let (answered, from) = (answered.clone(), CameFrom { origin: answered.origin.clone(), id: None });
        self.record(Event::Kept { line: answered.kept_from.unwrap_or(answered.line) })?;
        self.sweep_again(prompt, sweep, &answered.sweep, &from)?;
        let mut asked = self.meant(prompt, answered.answer)?;
        if let (Question::Sweep { .. }, Some(unit)) = (&prompt.question, prompt.question.unit()) {
            asked = self.understood_sweep(prompt, asked, std::mem::take(sweep), unit)?;
        }
        self.accept(Arc::clone(prompt), asked, &from).map(Some)
    }

    /// The readings of a sweep that are not written down again yet.
    fn sweep_again(
        &mut self,
        prompt: &Prompt,
        sweep: &mut SweepSoFar,
        readings: &[SweepReading],
        from: &CameFrom,
    ) -> Result<(), Stop> {
        for reading in readings.iter().skip(sweep.readings.len()) {
            self.record(events::sweep_read(prompt.id.clone(), reading.clone(), from))?;
            sweep.push(self.lines(), reading.clone(), None);
        }
        Ok(())
    }

    /// At the end: later answers that the script did not come to again after a change.
    pub(in crate::run) fn tell_what_is_asked_no_longer(&mut self) {
        let left = self.kept.not_come_to(&self.ids);
        if !left.is_empty() {
            let text = format!("After the change the procedure asks no longer: {}.", left.join(", "));
            self.answerer.notice(Notice::Remark { text: &text });
        }
    }
}
