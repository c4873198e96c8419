//! Nobody at the vehicle: what an earlier record can't answer waits.

use super::answerer::Answerer;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::model::event::{Entry, Event};
use crate::model::origin::Origin;

/// Actions count as done and cautions as read, by whoever did and read them in the record; questions wait.
pub struct Unattended {
    qualified: Option<String>,
}

impl Unattended {
    /// After a record: the qualified person named there counts.
    pub fn of(entries: &[Entry]) -> Self {
        let qualified = entries.iter().rev().find_map(|entry| match &entry.event {
            Event::Acknowledged { qualified, .. } => qualified.clone(),
            _ => None,
        });
        Self { qualified }
    }
}

impl Answerer for Unattended {
    fn ask(&mut self, request: Request<'_>, _view: View<'_>) -> Reply {
        let form = match request {
            Request::Caution { rules } => match &self.qualified {
                None if rules.iter().any(|rule| rule.qualified_person) => Form::Acknowledged { qualified: None },
                qualified => Form::Acknowledged { qualified: qualified.clone() },
            },
            Request::Act { .. } | Request::LeftOut { .. } => Form::enter(),
            Request::Answer { .. }
            | Request::PutBack { .. }
            | Request::NextOfSweep { .. }
            | Request::Doubt { .. }
            | Request::Needs { .. }
            | Request::Conclude { .. }
            | Request::WaitCutShort { .. }
            | Request::ConfirmVehicle { .. } => Form::Nobody,
        };
        form.from(Origin::CarriedOver)
    }

    /// It has nothing else to say to what is asked again.
    fn notice(&mut self, _notice: Notice<'_>) {}
}
