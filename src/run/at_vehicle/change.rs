//! Changing an answer that stands: it was mistyped, or it is measured again.

use crate::model::event::Event;
use crate::model::prompt::{Answer, PromptId};
use crate::model::record::Record;
use crate::run::meaning::{as_typed, take};
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
            Some(new) => match self.meant_instead(&standing.prompt, &standing.answer, new)? {
                Some(new) => Some(new),
                None => return Ok(()),
            },
        };
        let old = match as_typed(&standing.answer) {
            Form::Text(text) => text.to_string(),
            Form::Skip { reason } => format!("skipped: {reason}"),
            _ => String::new(),
        };
        let old = if let Answer::Sweep { readings } = standing.answer { format!("{readings} readings") } else { old };
        let event = Event::Changed {
            from_line: self.first_line_of(standing.line, id),
            line: standing.line,
            id: id.clone(),
            old,
            new,
            reason: reason.to_owned(),
            origin: from.origin.clone(),
        };
        self.record_reply(event, from.id)?;
        Err(Stop::TakenBack)
    }

    /// What was meant, checked in full as if it had been typed first. `None` where it can't be taken, which is said, or was
    /// thought better of.
    fn meant_instead(
        &mut self,
        prompt: &Arc<crate::model::prompt::Prompt>,
        old: &Answer,
        new: Arc<str>,
    ) -> Result<Option<Arc<str>>, Stop> {
        if matches!(old, Answer::Sweep { .. } | Answer::Skipped { .. }) {
            let what = if matches!(old, Answer::Skipped { .. }) { "a skipped reading" } else { "a sweep" };
            self.refuse(format!("{what} can't be mistyped: measure it again"));
            return Ok(None);
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
