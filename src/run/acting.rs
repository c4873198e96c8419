//! Having something done at the vehicle.

use super::events;
use super::notice::Notice;
use super::reply::Form;
use super::request::Request;
use super::session::{Session, diverged, sentence};
use super::stop::{ScriptError, Stop};
use crate::model::ending::Ending;
use crate::model::event::{Entry, Event};
use crate::model::prompt::Prompt;
use crate::model::stamp::Stamp;
use crate::model::vehicle::wait_for::WaitFor;
use crate::model::vehicle::{Action, VehicleState};

impl Session {
    /// Something to do at the vehicle.
    ///
    /// # Errors
    /// Whatever keeps it from being done.
    pub fn act(&mut self, action: Action) -> Result<(), Stop> {
        if let Some((line, entry)) = self.next_recorded()? {
            return match &entry.event {
                Event::Acted { action: recorded, already, passed_over, .. } if *recorded == action => {
                    self.told_by_question = false;
                    self.was_carried_out(&action, false);
                    if !already || *passed_over {
                        self.vehicle = self.vehicle.after(&action, Some(entry.at.minute()));
                    }
                    self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: true });
                    Ok(())
                }
                other => Err(diverged(line, other, &Event::acted(action, false))),
            };
        }
        self.room()?;
        if let Some((_, wait)) = &self.wait {
            return Err(Stop::ScriptError(ScriptError::ActsInAWait(sentence(&action), sentence(wait))));
        }
        if self.kept.is_on() && self.passes_over(&action)? {
            return Ok(());
        }
        self.do_pending_action(None)?;
        self.bring_back_for_an_action()?;
        let after = self.vehicle.after(&action, Some(self.clock.now().minute()));
        let lasting = !matches!(action, Action::Wait { .. } | Action::CarryOut { .. });
        let by_question = std::mem::take(&mut self.told_by_question);
        self.was_carried_out(&action, false);
        if lasting && after == self.vehicle {
            return self.record(Event::acted(action, true));
        }
        if by_question {
            return self.is_told_to(action, after);
        }
        if action.is_for_a_reading() {
            self.pending_action = Some(action);
            return Ok(());
        }
        self.carry_out(action, false, None)
    }

    /// The question that follows tells the technician to do it: its cautions come before the question, and nobody is asked
    /// whether it is done.
    fn is_told_to(&mut self, action: Action, after: VehicleState) -> Result<(), Stop> {
        self.caution_before_action(&action, &after, None)?;
        self.vehicle = after;
        let mut event = Event::acted(action, false);
        if let Event::Acted { by_question, .. } = &mut event {
            *by_question = true;
        }
        self.record(event)
    }

    /// The next action is one that the words of the next question tell the technician to do.
    pub fn question_tells(&mut self) {
        self.told_by_question = true;
    }

    /// Has done what waited for the next reading's leads; `prompt` is that reading.
    pub(super) fn do_pending_action(&mut self, prompt: Option<&Prompt>) -> Result<(), Stop> {
        match self.pending_action.take() {
            Some(action) => self.carry_out(action, false, prompt),
            None => Ok(()),
        }
    }

    /// Has something done at the vehicle, with its cautions before it, and before it the leads of the reading that it is
    /// done for.
    pub(super) fn carry_out(&mut self, action: Action, back: bool, prompt: Option<&Prompt>) -> Result<(), Stop> {
        self.carry_out_since(action, back, prompt, None)
    }

    /// The same; a wait that began at that time.
    pub(super) fn carry_out_since(
        &mut self,
        action: Action,
        back: bool,
        prompt: Option<&Prompt>,
        began: Option<Stamp>,
    ) -> Result<(), Stop> {
        let after = self.vehicle.after(&action, Some(self.clock.now().minute()));
        self.caution_before_action(&action, &after, prompt.map(|prompt| &prompt.question))?;
        if let Some(prompt) = prompt.filter(|_| action.is_for_a_reading()) {
            self.answerer.notice(Notice::Prepare { prompt });
        }
        if action == Action::Crank {
            self.say_starter_rests();
        }
        let asked_for = began.unwrap_or_else(|| self.clock.now());
        self.say_until(&action, &asked_for);
        // A wait that was said to be over before its time, once that was asked about.
        let mut cut_short_after = None;
        let from = loop {
            let mut reply = self.put(Request::Act { action: &action });
            if let Form::Text(_) = reply.form {
                let Some(seconds) = seconds_too_few(&action, &asked_for, &self.clock.now()) else {
                    cut_short_after = None;
                    break reply.came_from();
                };
                if cut_short_after.replace(seconds).is_none() {
                    let about = self.put(Request::WaitCutShort { action: &action, seconds });
                    if about.form == Form::Nobody {
                        // Who only answers what was written down waits for nothing.
                        cut_short_after = None;
                        break reply.came_from();
                    }
                    if matches!(about.form, Form::Text(_))
                        && action.waits_for().is_some_and(|kind| !kind.may_be_shortened())
                    {
                        cut_short_after = None;
                        if seconds_too_few(&action, &asked_for, &self.clock.now()).is_some() {
                            self.refuse_to_shorten(&action, &asked_for);
                            continue;
                        }
                    }
                    reply = about;
                }
            }
            let (form, from) = reply.parts();
            match form {
                Form::Text(_) => {
                    // Asked about, it may have been waited for after all.
                    cut_short_after = seconds_too_few(&action, &asked_for, &self.clock.now());
                    break from;
                }
                Form::Skip { reason } => {
                    match self.put(Request::LeftOut { action: &action }).form {
                        Form::Back { .. } => continue,
                        Form::Pause => return Err(self.pause()?),
                        _ => {}
                    }
                    return Err(self.end(Ending::not_done(action, &reason)));
                }
                Form::Note(text) => self.note(sentence(&action), text, &from)?,
                Form::Change { .. } if action.waits_for().is_some_and(WaitFor::is_for_safety) => {
                    self.refuse("Nothing is changed during this wait: safety asks for it.".to_owned());
                }
                Form::Change { id, new, reason } => self.change(&id, new, &reason, &from)?,
                Form::Back { to } => self.take_back(to.as_ref())?,
                Form::Pause => return Err(self.pause()?),
                _ => return Err(self.wait_for(sentence(&action), String::new(), None)?),
            }
        };
        let done = self.clock.now();
        self.vehicle = self.vehicle.after(&action, Some(done.minute()));
        let event = events::acted(action, back, cut_short_after, &from);
        self.append(Entry { at: done, reply: from.id, event })
    }
}

/// After how many seconds a wait was said to be over, where that was before its time.
pub(super) fn seconds_too_few(action: &Action, asked_for: &Stamp, now: &Stamp) -> Option<u64> {
    let Action::Wait { time, .. } = action else { return None };
    let waited = u64::try_from(now.second()? - asked_for.second()?).unwrap_or(0);
    // Either time has lost its part of a second.
    let enough = time.si() - 1.0;
    #[expect(clippy::cast_precision_loss, reason = "no wait has so many seconds")]
    let is_too_few = (waited as f64) < enough;
    is_too_few.then_some(waited)
}
