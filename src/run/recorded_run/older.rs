//! What older records had otherwise, told from what they say next.

use super::RecordedRun;
use crate::model::doubt::Doubt;
use crate::model::event::Event;
use crate::model::prompt::PromptId;
use crate::model::vehicle::Action;

impl RecordedRun {
    /// Older records find the engine cranking where it is cranked again.
    pub(in crate::run) fn starter_rests(&self) -> bool {
        let state = self.state();
        let mut ahead = state.original.iter().skip(state.position).map(|entry| &entry.event);
        !ahead
            .find(|event| matches!(event, Event::Acted { action: Action::Crank, .. }))
            .is_some_and(|next| matches!(next, Event::Acted { already: true, .. }))
    }

    /// Older records have it done.
    pub(in crate::run) fn did_pending_action(&self, action: &Action) -> bool {
        let state = self.state();
        let mut ahead = state.original.iter().skip(state.position).map(|entry| &entry.event);
        let next = ahead.find(|event| !matches!(event, Event::Cautioned { .. } | Event::Acknowledged { .. }));
        matches!(next, Some(Event::Acted { action: done, .. }) if done == action)
    }

    /// Older records were not asked about all of it.
    pub(in crate::run) fn was_asked_every_doubt(&self) -> bool {
        matches!(self.state().next(), Some(Event::Doubted { .. }))
    }

    pub(in crate::run) fn doubted_then(&self, id: &PromptId) -> Option<Doubt> {
        match self.state().next() {
            Some(Event::Doubted { id: of, doubt, .. }) if of == id => Some(doubt.clone()),
            _ => None,
        }
    }
}
