//! Heeding: cautions are told when their hazard becomes true, and read before anything goes on.

use super::caution_monitor::About;
use super::events;
use super::reply::Form;
use super::request::Request;
use super::session::Session;
use super::stop::Stop;
use crate::model::caution::{Method, Rule};
use crate::model::ending::{Ending, Why};
use crate::model::event::{Event, Told};
use crate::model::meter::Function;
use crate::model::prompt::{CautionId, Leads, Question};
use crate::model::vehicle::VehicleState;
use std::sync::Arc;

/// Where a note was written that was written at a caution.
pub(super) const AT_A_CAUTION: &str = "a caution";

impl Session {
    /// Tells the cautions whose hazard becomes true, with the vehicle as it is or as an action will make it, and waits
    /// until somebody has read them.
    pub(super) fn caution(&mut self, after: Option<&VehicleState>, methods: &[Method]) -> Result<(), Stop> {
        if self.rules.rules.is_empty() {
            return Ok(());
        }
        if after.is_some() {
            // What was fed before may not be now.
            self.fed = None;
        }
        let rules = Arc::clone(&self.rules);
        let minute = self.clock.minute();
        let vehicle = after.unwrap_or(&self.vehicle);
        let about = About { methods, fed: self.fed, minute };
        let mut newly = self.monitor.newly_true(&rules, &self.near, &self.vehicle, vehicle, about);
        if newly.is_empty() {
            return Ok(());
        }
        newly.sort_by_key(|rule| rule.word);
        let cautions = newly.iter().map(|rule| Told { id: rule.id.clone(), word: rule.word }).collect();
        self.record(Event::Cautioned { cautions })?;
        self.acknowledge(&newly)
    }

    /// Asks the circuit whether something feeds what is about to be measured. It is asked where a current of the meter's own
    /// goes through; between one such reading and the next its answer stands.
    pub(super) fn look_whether_fed(&mut self, question: &Question) {
        let with_own_current = matches!(question.function(), Some(Function::Ohms | Function::Diode));
        if self.rules.rules.is_empty() || !with_own_current || !self.behavior.asks_whether_fed() {
            return;
        }
        self.fed = match question.leads() {
            Some(Leads::Across { red, black }) => self.feeds.between(&self.vehicle, &red.name, &black.name),
            _ => None,
        };
    }

    fn acknowledge(&mut self, rules: &[&Rule]) -> Result<(), Stop> {
        let to_acknowledge: Vec<_> = rules
            .iter()
            .filter(|rule| rule.word.needs_acknowledgement() || rule.qualified_person)
            .map(|rule| rule.id.clone())
            .collect();
        let needs_qualified = rules.iter().any(|rule| rule.qualified_person);
        let (form, from) = loop {
            let (form, from) = self.put(Request::Caution { rules }).parts();
            if let Form::Note(text) = form {
                self.note(AT_A_CAUTION.to_owned(), text, &from)?;
                continue;
            }
            let Form::Back { to } = &form else { break (form, from) };
            // Where there was nothing to take back they are still to be read.
            if let Err(stop) = self.take_back(to.as_ref()) {
                self.monitor.untell(&self.rules, rules);
                return Err(stop);
            }
        };
        match form {
            Form::Pause => {
                self.monitor.forget();
                Err(self.pause()?)
            }
            Form::Refused => {
                let caution = rules.first().map_or_else(|| CautionId::new(""), |rule| rule.id.clone());
                Err(self.end(Ending::unfinished(Why::RefusedCaution { caution })))
            }
            _ if to_acknowledge.is_empty() => Ok(()),
            Form::Acknowledged { qualified: None } if needs_qualified => Err(self.nobody_qualified(rules)),
            Form::Acknowledged { qualified } => {
                self.record_reply(events::acknowledged(to_acknowledge, true, qualified, &from), from.id)
            }
            _ => {
                self.record_reply(events::acknowledged(to_acknowledge, false, None, &from), from.id)?;
                if needs_qualified { Err(self.nobody_qualified(rules)) } else { Ok(()) }
            }
        }
    }

    fn nobody_qualified(&mut self, rules: &[&Rule]) -> Stop {
        // It is asked for only where a rule wants one.
        let rule = rules.iter().find(|rule| rule.qualified_person).or(rules.first());
        let caution = rule.map_or_else(|| CautionId::new(""), |rule| rule.id.clone());
        self.end(Ending::unfinished(Why::NoQualifiedPerson { caution }))
    }
}
