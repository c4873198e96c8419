//! Nobody at the vehicle: what an earlier record can't answer waits.

use super::answerer::{Acknowledgement, Answerer, Reply, View};
use super::journal::Durability;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::{AnsweredBy, Entry, Event};
use crate::model::prompt::Prompt;
use crate::model::record::SweepReading;
use crate::model::vehicle::Action;

/// Actions count as done and cautions as read, by whoever did and read them in the record; questions wait.
pub struct Unattended {
    by: AnsweredBy,
    qualified: Option<String>,
}

impl Unattended {
    /// After a record: the qualified person named there counts.
    pub fn of(entries: &[Entry], by: AnsweredBy) -> Self {
        let qualified = entries.iter().rev().find_map(|entry| match &entry.event {
            Event::Acknowledged { qualified, .. } => qualified.clone(),
            _ => None,
        });
        Self { by, qualified }
    }
}

impl Answerer for Unattended {
    fn answered_by(&self) -> AnsweredBy {
        self.by
    }
    fn durability(&self) -> Durability {
        Durability::AtEnd
    }
    fn caution(&mut self, rules: &[&Rule]) -> Acknowledgement {
        match &self.qualified {
            None if rules.iter().any(|rule| rule.qualified_person) => Acknowledgement::Refused,
            qualified => Acknowledgement::Read { qualified: qualified.clone() },
        }
    }
    fn act(&mut self, _action: &Action, _view: View<'_>) -> Reply {
        Reply::enter()
    }
    fn answer(&mut self, _prompt: &Prompt, _view: View<'_>) -> Reply {
        Reply::Nobody
    }
    fn next_of_sweep(&mut self, _prompt: &Prompt, _so_far: &[SweepReading], _view: View<'_>) -> Reply {
        Reply::Nobody
    }
    fn refused(&mut self, _problem: &str) -> bool {
        false
    }
    fn doubt(&mut self, _prompt: &Prompt, _typed: &str, _doubt: &Doubt, _view: View<'_>) -> Reply {
        Reply::Nobody
    }
}
