//! Heeding: cautions are told when their hazard becomes true, and read before anything goes on.

use super::caution_monitor::{About, Hands, Telling};
use super::events;
use super::notice::Notice;
use super::reply::Form;
use super::request::Request;
use super::session::Session;
use super::stop::Stop;
use crate::model::caution::Rule;
use crate::model::ending::{Ending, Why};
use crate::model::event::{AT_A_CAUTION, Entry, Event, Told};
use crate::model::meter::Function;
use crate::model::points::Nearby;
use crate::model::prompt::{CautionId, Leads, Question, Zone};
use crate::model::stamp::Stamp;
use crate::model::vehicle::method::Method;
use crate::model::vehicle::{Action, VehicleState};
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// After so long without an answer, nobody may still know what was confirmed (common practice, no source).
const LONGEST_SILENCE: i64 = 30 * 60;
impl Session {
    /// Tells the cautions whose hazard becomes true at a question, and waits until somebody has read them.
    pub(super) fn caution_before_question(&mut self, question: &Question) -> Result<(), Stop> {
        let methods = Method::of_question(question);
        if !self.behavior.reminds() {
            return self.caution_as_before_4(None, &methods);
        }
        let nearby = self.near_leads(question.leads());
        self.caution(None, &nearby, &methods, question.leads(), false)
    }

    /// The same where a step begins: what its own zones bring.
    pub(super) fn caution_at_step(&mut self) -> Result<(), Stop> {
        if !self.behavior.reminds() {
            return self.caution_as_before_4(None, &[]);
        }
        self.caution(None, &Nearby::default(), &[], None, false)
    }

    /// The same before an action, with the vehicle as it is and as the action will make it; with the leads of the reading that
    /// it is done for.
    pub(super) fn caution_before_action(
        &mut self,
        action: &Action,
        after: &VehicleState,
        question: Option<&Question>,
    ) -> Result<(), Stop> {
        let methods = Method::of_action(action);
        if !self.behavior.reminds() {
            let methods: Vec<_> = methods.into_iter().map(Method::as_before_4).collect();
            return self.caution_as_before_4(Some(after), &methods);
        }
        let leads = question.and_then(Question::leads);
        let mut nearby = self.near_leads(leads);
        let mut methods = methods;
        if let Some(points) = &self.points {
            if !points.moves_through_a_travel(action) {
                methods.retain(|method| *method != Method::MoveByHand);
            }
            let hands = points.near_action(action);
            nearby.unstated |= hands.unstated;
            nearby.zones.extend(hands.zones);
            nearby.places.extend(hands.places);
        }
        // The cable's clamp is at the battery, even if the step does not say so.
        if matches!(action, Action::MoveBatteryCable { .. }) {
            nearby.zones.push(Zone::new("battery"));
        }
        let any_method = matches!(action, Action::CarryOut { methods: None, .. });
        self.caution(Some(after), &nearby, &methods, leads, any_method)
    }

    fn near_leads(&self, leads: Option<&Leads>) -> Nearby {
        self.points.as_ref().map(|points| points.near_leads(leads)).unwrap_or_default()
    }

    fn caution(
        &mut self,
        after: Option<&VehicleState>,
        nearby: &Nearby,
        methods: &[Method],
        leads: Option<&Leads>,
        any_method: bool,
    ) -> Result<(), Stop> {
        if self.rules.rules.is_empty() {
            return Ok(());
        }
        if after.is_some() {
            // What was fed before may not be now.
            self.fed = None;
        }
        let now = self.clock.now();
        self.forget_after_silence(&now);
        let rules = Arc::clone(&self.rules);
        let (acts, fed, minute) = (after.is_some(), self.fed, self.clock.minute());
        let hands = Hands { near: &self.near, nearby, methods, any_method, acts, leads, fed, minute };
        let told = self.monitor.tell(&rules, &self.vehicle, after.unwrap_or(&self.vehicle), hands);
        let of = |which: Telling| -> Vec<&Rule> {
            told.iter().filter(|(_, telling)| *telling == which).map(|(rule, _)| *rule).collect()
        };
        let (whole, reminders) = (of(Telling::Whole), of(Telling::Reminder));
        if !whole.is_empty() {
            self.record(Event::Cautioned { cautions: whole.iter().map(|rule| told_of(rule)).collect() })?;
            self.acknowledge(&whole)?;
        }
        if !reminders.is_empty() {
            self.answerer.notice(Notice::Reminded { rules: &reminders });
            self.record(Event::Reminded { cautions: reminders.iter().map(|rule| told_of(rule)).collect() })?;
        }
        Ok(())
    }

    /// Forgets what was confirmed where nothing was written for half an hour, or the clock went back.
    fn forget_after_silence(&mut self, now: &Stamp) {
        let from = std::mem::replace(&mut self.silence_seen_to, self.entries.len());
        let silent = |earlier: &Stamp, later: &Stamp| {
            !earlier.is_within_a_minute_before(later)
                && match (earlier.second(), later.second()) {
                    (Some(earlier), Some(later)) => later < earlier || later - earlier >= LONGEST_SILENCE,
                    _ => false,
                }
        };
        let since = self.entries.get(from.saturating_sub(1)..).unwrap_or_default();
        // What was looked at before a caution was told was looked at then.
        let is_told = |entry: &Entry| matches!(entry.event, Event::Cautioned { .. } | Event::Reminded { .. });
        let within = since.windows(2).any(|two| !is_told(&two[1]) && silent(&two[0].at, &two[1].at));
        let to_now = self.entries.last().is_some_and(|last| silent(&last.at, now));
        if within || to_now {
            self.monitor.forget();
        }
    }

    /// As records of behavior 3 and before were made.
    fn caution_as_before_4(&mut self, after: Option<&VehicleState>, methods: &[Method]) -> Result<(), Stop> {
        if self.rules.rules.is_empty() {
            return Ok(());
        }
        if after.is_some() {
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
        newly.sort_by_key(|rule| rule.word());
        let cautions = newly.iter().map(|rule| Told { id: rule.id.clone(), word: rule.word(), digest: None }).collect();
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
            Some(Leads::Across { red, black }) => {
                let points = self.points.as_ref();
                points.and_then(|points| points.feeds.between(&self.vehicle, &red.name, &black.name))
            }
            _ => None,
        };
    }

    fn acknowledge(&mut self, rules: &[&Rule]) -> Result<(), Stop> {
        let to_acknowledge: Vec<_> =
            rules.iter().filter(|rule| rule.needs_confirming()).map(|rule| rule.id.clone()).collect();
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
            Form::Refused if needs_qualified || !self.behavior.reminds() => Err(self.nobody_qualified(rules)),
            Form::Refused => Err(self.refused_caution(rules)),
            _ if to_acknowledge.is_empty() => Ok(()),
            Form::Acknowledged { qualified: None } if needs_qualified => Err(self.nobody_qualified(rules)),
            Form::Acknowledged { qualified } => {
                let by_person = !self.behavior.reminds() || from.origin.is_a_person();
                let event = events::acknowledged(to_acknowledge, by_person, qualified, &from);
                self.record_reply(event, from.id)
            }
            _ => {
                self.record_reply(events::acknowledged(to_acknowledge, false, None, &from), from.id)?;
                if needs_qualified { Err(self.nobody_qualified(rules)) } else { Ok(()) }
            }
        }
    }

    /// The technician stopped: it was not safe.
    fn refused_caution(&mut self, rules: &[&Rule]) -> Stop {
        let caution = rules.first().map_or_else(|| CautionId::new(""), |rule| rule.id.clone());
        self.end(Ending::unfinished(Why::RefusedCaution { caution }))
    }

    fn nobody_qualified(&mut self, rules: &[&Rule]) -> Stop {
        // It is asked for only where a rule wants one.
        let rule = rules.iter().find(|rule| rule.qualified_person).or(rules.first());
        let caution = rule.map_or_else(|| CautionId::new(""), |rule| rule.id.clone());
        self.end(Ending::unfinished(Why::NoQualifiedPerson { caution }))
    }
}

/// A told rule, as the journal keeps it.
fn told_of(rule: &Rule) -> Told {
    let digest = Sha256::digest(rule.as_shown().as_bytes());
    let digest = digest.iter().map(|byte| format!("{byte:02x}")).collect();
    Told { id: rule.id.clone(), word: rule.word(), digest: Some(digest) }
}

#[cfg(test)]
mod tests {
    use crate::model::caution::CautionRules;
    use crate::model::points::Nearby;
    use crate::model::prompt::Zone;
    use crate::model::stamp::Stamp;
    use crate::model::vehicle::{Key, VehicleState};
    use crate::run::caution_monitor::{CautionMonitor, Hands, Telling};
    use crate::run::fakes::{Fake, requests, session_with, taken};
    use crate::run::journal::Clock;
    use crate::run::reply::Form;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicI64, Ordering};

    /// Whatever a test sets, in seconds after eight o'clock.
    #[derive(Clone, Default)]
    struct SetClock(Arc<AtomicI64>);

    impl Clock for SetClock {
        fn now(&mut self) -> Stamp {
            let second = 8 * 3600 + self.0.load(Ordering::Relaxed);
            Stamp::new(format!("2026-01-05T{:02}:{:02}:{:02}Z", second / 3600, second / 60 % 60, second % 60))
        }
    }

    fn rules() -> CautionRules {
        toml::from_str(
            "[[caution]]\nid = 'gas'\nhazard = 'Gas.'\nharm = 'death'\nlikelihood = 'could'\nconsequence = 'It burns.'\n\
             avoid = 'No sparks.'\nconfirm_text = 'no sparks'\nsource = 'common practice, no source'\n\
             when = { zones = ['battery'] }\n",
        )
        .unwrap()
    }

    /// What is told of the caution when somebody comes back to it after `seconds`.
    fn told_after(seconds: i64) -> (usize, usize) {
        let clock = SetClock::default();
        let confirmed = || Form::Acknowledged { qualified: None };
        let (fake, heard) = Fake::new([confirmed(), confirmed()]);
        let mut session = session_with(fake, Box::new(clock.clone()), rules());
        let battery = ["battery".to_owned()];
        session.begin_step("One", &battery).unwrap();
        session.begin_step("Two", &[]).unwrap();
        assert_eq!(requests(&heard), ["caution"]);
        taken(&heard);
        clock.0.store(seconds, Ordering::Relaxed);
        session.begin_step("Three", &battery).unwrap();
        let confirmations = requests(&heard).len();
        let reminders = taken(&heard).iter().filter(|text| text.starts_with("{\"notice\":\"reminded\"")).count();
        (confirmations, reminders)
    }

    #[test]
    fn half_an_hour_without_an_answer_and_a_clock_that_went_back_ask_again() {
        assert_eq!(told_after(29 * 60), (0, 1));
        assert_eq!(told_after(30 * 60), (1, 0));
        assert_eq!(told_after(-1), (1, 0));
    }

    #[test]
    fn a_state_that_became_unknown_asks_again() {
        let rules = rules();
        let known = VehicleState { key: Key::Off, ..VehicleState::default() };
        let unknown = VehicleState { key: Key::Unknown, ..known.clone() };
        let mut monitor = CautionMonitor::default();
        let mut told = |vehicle: &VehicleState, near: &[Zone]| -> Vec<Telling> {
            let nearby = Nearby::default();
            let hands = Hands {
                near,
                nearby: &nearby,
                methods: &[],
                any_method: false,
                acts: false,
                leads: None,
                fed: None,
                minute: 0,
            };
            monitor.tell(&rules, vehicle, vehicle, hands).into_iter().map(|(_, telling)| telling).collect()
        };
        let battery = [Zone::new("battery")];
        assert_eq!(told(&known, &battery), [Telling::Whole]);
        assert_eq!(told(&known, &battery), []);
        assert_eq!(told(&known, &[]), []);
        assert_eq!(told(&known, &battery), [Telling::Reminder]);
        assert_eq!(told(&unknown, &battery), [Telling::Whole]);
        // That it is known again is no reason.
        assert_eq!(told(&known, &battery), []);
    }
}
