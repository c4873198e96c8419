//! How a run ends: with a cause, without one, or because an answer is missing that it can't go on without.

use super::reply::Form;
use super::request::Request;
use super::session::{Session, diverged};
use super::stop::{ScriptError, Stop};
use crate::model::ending::{Ending, Why};
use crate::model::event::{Event, NamedCause};
use crate::model::prompt::PromptId;
use crate::model::words;

/// Who says that a run ends.
#[derive(Clone, Copy, PartialEq, Eq)]
enum EndsBy {
    /// The script itself.
    Script,
    /// It breaks off.
    BreakingOff,
}

impl Session {
    /// The script asked whether this was skipped; from now on it may ask the rest.
    pub fn skip_was_asked(&mut self, id: &PromptId) {
        self.skips_asked.insert(id.clone());
    }

    /// Whether the script asked that.
    pub fn knows_of_skip(&self, id: &PromptId) -> bool {
        self.skips_asked.contains(id)
    }

    /// The script asked whether this was over range; from now on it may ask the rest.
    pub fn over_range_was_asked(&mut self, id: &PromptId) {
        self.over_ranges_asked.insert(id.clone());
    }

    /// Whether the script asked that.
    pub fn knows_of_over_range(&self, id: &PromptId) -> bool {
        self.over_ranges_asked.contains(id)
    }

    /// The script wants to know of an answer that was left out.
    pub fn needs_skipped(&mut self, id: &PromptId, reason: &str) -> Stop {
        let ending = Ending::needs(id.clone(), reason);
        self.lacks(Some(id), ending.clone()).unwrap_or_else(|| self.end(ending))
    }

    /// The script wants to know on which side of its limits a reading lies that is beyond the meter's range.
    pub fn needs_on_scale(&mut self, id: &PromptId) -> Stop {
        let ending = Ending::unfinished(Why::OverRange { id: id.clone() });
        self.lacks(Some(id), ending.clone()).unwrap_or_else(|| self.end(ending))
    }

    /// The script asked whether this does not rest; from now on it may ask the rest.
    pub fn unsteady_was_asked(&mut self, id: &PromptId) {
        self.unsteady_asked.insert(id.clone());
    }

    /// Whether the script asked that.
    pub fn knows_of_unsteady(&self, id: &PromptId) -> bool {
        self.unsteady_asked.contains(id)
    }

    /// The script wants a steady value of a reading that does not rest.
    pub fn needs_steady(&mut self, id: &PromptId) -> Stop {
        let ending = Ending::unfinished(Why::Unsteady { id: id.clone() });
        self.lacks(Some(id), ending.clone()).unwrap_or_else(|| self.end(ending))
    }

    /// The procedure can't go on with an answer as it is: whoever gave it may give another one, or the run ends so.
    /// `None` if nobody is there.
    pub fn lacks(&mut self, id: Option<&PromptId>, ending: Ending) -> Option<Stop> {
        self.lacks_as(id, ending, EndsBy::BreakingOff)
    }

    fn lacks_as(&mut self, id: Option<&PromptId>, ending: Ending, by: EndsBy) -> Option<Stop> {
        match self.next_recorded() {
            Err(stop) => return Some(stop),
            Ok(Some((line, recorded))) => return Some(diverged(line, &recorded.event, &Event::Ended { ending })),
            Ok(None) => {}
        }
        if let Err(stop) = self.stop_keeping() {
            return Some(stop);
        }
        let (id, why) = (id?, ending.reason()?);
        match self.put(Request::Needs { id, why: &why }).form {
            Form::Nobody => None,
            Form::Back { .. } => self.take_back(Some(id)).err(),
            Form::Pause => Some(self.pause().unwrap_or_else(|stop| stop)),
            _ => Some(self.end_as(ending, by)),
        }
    }

    /// The procedure names its cause, or several.
    /// What comes back always stops the script: the run is over, or the cause is not in the header.
    pub fn conclude(&mut self, ids: &[String]) -> Stop {
        if ids.is_empty() {
            return Stop::ScriptError(ScriptError::NoCause);
        }
        let mut causes = Vec::with_capacity(ids.len());
        for id in ids {
            match self.causes.iter().find(|cause| cause.id.as_str() == id) {
                Some(cause) => causes.push(cause.clone()),
                None => {
                    let nearest = words::nearest(id, self.causes.iter().map(|cause| cause.id.as_str()));
                    return Stop::ScriptError(ScriptError::UndeclaredCause { cause: id.clone(), nearest });
                }
            }
        }
        let event = Event::Concluded { causes: causes.clone() };
        match self.next_recorded() {
            Err(stop) => return stop,
            Ok(Some((_, recorded))) if recorded.event == event => return Stop::Concluded(causes),
            Ok(Some((line, recorded))) => return diverged(line, &recorded.event, &event),
            Ok(None) => {}
        }
        if let Err(stop) = self.stop_keeping() {
            return stop;
        }
        self.tell_what_is_asked_no_longer();
        match self.let_stand(&causes).and_then(|()| self.leave()).and_then(|()| self.record(event)) {
            Ok(()) => Stop::Concluded(causes),
            Err(stop) => stop,
        }
    }

    /// Shows what is about to be concluded: whoever mistyped the last answer can still take it back.
    fn let_stand(&mut self, causes: &[NamedCause]) -> Result<(), Stop> {
        self.do_pending_action(None)?;
        loop {
            let (form, from) = self.put(Request::Conclude { causes }).parts();
            match form {
                Form::Back { to } => self.take_back(to.as_ref())?,
                Form::Change { id, new, reason } => self.change(&id, new, &reason, &from)?,
                Form::Note(text) => self.note("the conclusion".to_owned(), text, &from)?,
                Form::Pause => return Err(self.pause()?),
                _ => return Ok(()),
            }
        }
    }

    /// The procedure itself can't go on, and says why: it may be because of the last answer.
    pub fn unfinished(&mut self, reason: &str) -> Stop {
        let ending = Ending::author(reason);
        let last = self.standing_answer(None).map(|(_, id)| id);
        self.lacks_as(last.as_ref(), ending.clone(), EndsBy::Script)
            .unwrap_or_else(|| self.end_as(ending, EndsBy::Script))
    }

    /// Writes down how a run ended without a cause.
    pub fn end(&mut self, ending: Ending) -> Stop {
        self.end_as(ending, EndsBy::BreakingOff)
    }

    fn end_as(&mut self, ending: Ending, by: EndsBy) -> Stop {
        if self.leaving {
            return Stop::LeftOpen;
        }
        // What was to be done for a reading is done for one, or where the script came to its own end; not where the run breaks
        // off before the reading.
        let comes_to_its_end = ending == Ending::Unconcluded || by == EndsBy::Script;
        if (comes_to_its_end
            || self.pending_action.as_ref().is_some_and(|held| self.behavior.does_pending_action(held)))
            && let Err(stop) = self.do_pending_action(None)
        {
            return stop;
        }
        self.pending_action = None;
        if let Err(stop) = self.stop_keeping().and_then(|()| self.leave()) {
            return stop;
        }
        match self.record(Event::Ended { ending: ending.clone() }) {
            Ok(()) => Stop::Ended(ending),
            Err(stop) => stop,
        }
    }
}
