//! Putting a request: asked again until the reply fits, and what becomes of one that does not.

use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::session::Session;
use super::stop::Stop;
use super::view::View;
use crate::model::event::Event;

/// After so many replies in a row that do not fit, nobody is there to give one that does.
const MOST_UNFIT: usize = 100;

impl Session {
    /// Asks until a reply comes that fits. `Nobody` always does.
    pub(super) fn put(&mut self, request: Request<'_>) -> Reply {
        let mut refused = self.refused.take();
        let line = self.entries.len() + 1;
        if self.token.line != line {
            (self.token.line, self.token.turn) = (line, 0);
        } else if self.asked != request.name() {
            self.token.turn += 1;
        }
        self.asked = request.name();
        let mut unfit = 0;
        loop {
            let view = View {
                token: &self.token,
                step: &self.step,
                near: &self.near,
                why: &self.why,
                vehicle: &self.vehicle,
                answered: self.answered,
            };
            let mut reply = self.answerer.ask(request, view);
            if !request.takes(&reply.form) {
                let problem = request.why_not(&reply.form);
                self.answerer.notice(Notice::Refused { problem: &problem });
                refused = Some(problem);
                unfit += 1;
                if unfit < MOST_UNFIT {
                    continue;
                }
                reply.form = Form::Nobody;
            }
            if reply.form == Form::Nobody {
                self.refused = refused;
            }
            return reply;
        }
    }

    /// Says that the last reply can't be taken. What is asked next is the same again: where nobody can give another reply, the
    /// run waits, and says this.
    pub(super) fn refuse(&mut self, problem: String) {
        self.answerer.notice(Notice::Refused { problem: &problem });
        self.refused = Some(problem);
    }

    /// Tells of the step that goes on.
    pub(super) fn tell_step(&mut self) {
        let view = View {
            token: &self.token,
            step: &self.step,
            near: &self.near,
            why: &self.why,
            vehicle: &self.vehicle,
            answered: self.answered,
        };
        self.answerer.notice(Notice::Step { view });
    }

    /// Nobody answers: the run waits. What was wrong with the last reply goes before `problem`.
    pub(super) fn wait_for(&mut self, prompt: String, text: String, problem: Option<String>) -> Result<Stop, Stop> {
        let problem = self.refused.take().or(problem);
        self.record(Event::Waited { prompt: prompt.clone(), text: text.clone() })?;
        Ok(Stop::Waiting { prompt, text, problem })
    }
}
