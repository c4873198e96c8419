//! Changing an answer that stands: it was mistyped, or it is measured again.

use crate::model::event::Event;
use crate::model::prompt::{Answer, Prompt, PromptId, Question};
use crate::model::record::Record;
use crate::model::record::given::{Answered, SweepReading};
use crate::model::typed;
use crate::run::ask::sweep_so_far::{dangerous_in_a_sweep, odd_in_a_sweep};
use crate::run::at_vehicle::keeping::Keeping;
use crate::run::meaning::{as_typed, take};
use crate::run::notice::Notice;
use crate::run::reply::{CameFrom, Form};
use crate::run::request::Request;
use crate::run::session::Session;
use crate::run::stop::Stop;
use std::sync::Arc;

impl Session {
    /// Changes an answer. Returns normally where it can't be changed so, which is said.
    pub(in crate::run) fn change(
        &mut self,
        id: &PromptId,
        new: Option<Arc<str>>,
        reason: &str,
        from: &CameFrom,
    ) -> Result<(), Stop> {
        let standing = Record::of(&self.entries)
            .ok()
            .and_then(|record| record.answers().find(|answered| answered.prompt.id == *id).cloned());
        let Some(standing) = standing else {
            self.refuse(format!("there is no answer to `{id}` that could be changed"));
            return Ok(());
        };
        let reason = reason.trim();
        if reason.is_empty() {
            self.refuse("say why it is changed".to_owned());
            return Ok(());
        }
        let new = match new {
            None => None,
            Some(new) => match self.meant_instead(&standing, new)? {
                Some(new) => Some(new),
                None => return Ok(()),
            },
        };
        let old = match as_typed(&standing.answer) {
            Form::Text(text) => text.to_string(),
            Form::Skip { reason } => format!("skipped: {reason}"),
            _ => String::new(),
        };
        let old = match (&standing.answer, &new) {
            (Answer::Sweep { .. }, Some(new)) => old_reading(&standing.sweep, new).unwrap_or(old),
            (Answer::Sweep { readings }, None) => format!("{readings} readings"),
            _ => old,
        };
        let event = Event::Changed {
            from_line: self.first_line_of(standing.line, id),
            line: standing.line,
            id: id.clone(),
            old,
            new,
            reason: reason.to_owned(),
            origin: from.origin.clone(),
        };
        self.tell_what_is_struck(&standing, &event);
        self.record_reply(event, from.id)?;
        Err(Stop::TakenBack)
    }

    /// Before anything is done: the later answers that can't be kept, each with its reason, and those that may be.
    fn tell_what_is_struck(&mut self, standing: &Answered, event: &Event) {
        let later = Keeping::after(&self.entries, standing, event);
        let (again, kept) = later.foreseen(self.points.as_deref());
        if !again.is_empty() {
            let text = format!("Struck, and asked again if the procedure still needs it: {}.", again.join("; "));
            self.answerer.notice(Notice::Remark { text: &text });
        }
        if !kept.is_empty() {
            let text = format!("Kept if the procedure asks it again in the same state: {}.", kept.join(", "));
            self.answerer.notice(Notice::Remark { text: &text });
        }
    }

    /// What was meant, checked in full as if it had been typed first. `None` where it can't be taken, which is said, or was
    /// thought better of.
    fn meant_instead(&mut self, standing: &Answered, new: Arc<str>) -> Result<Option<Arc<str>>, Stop> {
        let prompt = &standing.prompt;
        if let Question::Sweep { .. } = prompt.question {
            let meant = match &standing.answer {
                Answer::Skipped { .. } => Err(SKIPPED_SWEEP.to_owned()),
                _ => corrected(prompt, &standing.sweep, &new).and_then(|sweep| fits(prompt, &sweep, &new)),
            };
            return Ok(match meant {
                Ok(()) => Some(new),
                Err(problem) => {
                    self.refuse(problem);
                    None
                }
            });
        }
        let mut new = new;
        loop {
            let asked = match take(prompt, Arc::clone(&new), &self.meter) {
                Ok(asked) => asked,
                Err(problem) => {
                    self.refuse(problem);
                    return Ok(None);
                }
            };
            let Some(doubt) = self.doubt_about(prompt, &asked) else { return Ok(Some(new)) };
            let reply = self.put(Request::Doubt { prompt, typed: &new, doubt: &doubt });
            match reply.form {
                // The record has it so.
                Form::Change { .. } => return Ok(Some(new)),
                Form::Text(text) if text.trim().is_empty() || text.trim() == new.trim() => return Ok(Some(new)),
                Form::Text(text) => new = text,
                Form::Pause => return Err(self.pause()?),
                _ => return Ok(None),
            }
        }
    }
}

const SKIPPED_SWEEP: &str = "the sweep was skipped, so no reading of it was mistyped: measure it again";

/// The number of a sweep's reading, and what it was meant to be: `2: 0.6`.
fn numbered(new: &str) -> Option<(usize, &str)> {
    let (number, text) = new.split_once(':')?;
    Some((number.trim().parse().ok()?, text.trim()))
}

fn old_reading(sweep: &[SweepReading], new: &str) -> Option<String> {
    let (number, _) = numbered(new)?;
    let old = sweep.get(number.checked_sub(1)?)?;
    Some(format!("{number}: {}", old.text))
}

/// Whether the reading that was meant is one that nobody has to be asked about: an odd or dangerous one is measured again, where
/// all questions about it are asked.
fn fits(prompt: &Prompt, sweep: &[SweepReading], new: &str) -> Result<(), String> {
    let (Some((number, _)), Some(unit)) = (numbered(new), prompt.question.unit()) else { return Ok(()) };
    let Some(reading) = number.checked_sub(1).and_then(|index| sweep.get(index)) else { return Ok(()) };
    let shown = typed::read(&reading.text, unit).map_err(|error| error.to_string())?;
    let one = [(reading.clone(), shown)];
    let odd = odd_in_a_sweep(prompt, &one);
    if dangerous_in_a_sweep(prompt, &one).is_some() {
        return Err(format!(
            "{} can kill. If the meter showed that, measure again",
            typed::as_shown(&reading.text, unit)
        ));
    }
    odd.map_or(Ok(()), |odd| Err(format!("{odd} If the meter showed that, measure again")))
}

/// A sweep with the reading that was mistyped as it was meant.
pub(super) fn corrected(prompt: &Prompt, sweep: &[SweepReading], new: &str) -> Result<Vec<SweepReading>, String> {
    if sweep.is_empty() {
        return Err(SKIPPED_SWEEP.to_owned());
    }
    let readings = sweep.len();
    let Some((number, text)) = numbered(new) else {
        return Err(format!(
            "say which of the {readings} readings was mistyped, and what was meant: `2: 0.6` for the second one"
        ));
    };
    let mut sweep = sweep.to_vec();
    let Some(reading) = number.checked_sub(1).and_then(|index| sweep.get_mut(index)) else {
        return Err(format!("this sweep has no reading {number}: they are numbered from 1 to {readings}"));
    };
    if let Some(unit) = prompt.question.unit() {
        typed::read(text, unit).map_err(|error| error.to_string())?;
    }
    text.clone_into(&mut reading.text);
    Ok(sweep)
}
