//! Safety messages by rule: zone × vehicle state × method.

use super::meter::Function;
use super::prompt::{CautionId, Leads, Question, Zone};
use super::vehicle::{Action, Battery, Engine, HighVoltage, Key, Lift, VehicleState, Wheels};
use serde::{Deserialize, Serialize};
use smallvec::SmallVec;
use std::fmt;

/// Signal words as ANSI Z535.6 and ISO 3864-2 use them, worst first.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum SignalWord {
    /// Will kill or seriously injure if not avoided.
    Danger,
    /// Could kill or seriously injure.
    Warning,
    /// Could injure.
    Caution,
    /// Not about injury: parts, data, time.
    Notice,
}

/// What the hands are about to do.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Voltage measured.
    Volts,
    /// Resistance measured.
    Ohms,
    /// Current measured.
    Amperes,
    /// Diode test.
    Diode,
    /// Any other meter function.
    OtherReading,
    /// The key turned on.
    KeyOn,
    /// The engine started.
    StartEngine,
    /// The engine cranked.
    Crank,
    /// The vehicle raised or lowered.
    MoveLift,
    /// A connector taken apart.
    Unplug,
    /// A connector put together.
    Plug,
    /// A fuse or relay taken out or put back.
    HandlePart,
    /// The battery's cable taken off or put back.
    BatteryCable,
    /// Something moved by hand, or held.
    MoveByHand,
    /// A jumper or a substitute load put in place.
    Connect,
}

/// When a rule is true. Each list that is given must hold the state; an unknown state is in every list.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct When {
    /// The step is near one of these.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<Zone>,
    /// Key.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub key: Vec<Key>,
    /// Engine.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub engine: Vec<Engine>,
    /// The engine runs, or stopped less than this many minutes ago, or nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub engine_hot_minutes: Option<u32>,
    /// Lift.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lift: Vec<Lift>,
    /// Wheels.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wheels: Vec<Wheels>,
    /// Battery.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub battery: Vec<Battery>,
    /// High voltage.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub high_voltage: Vec<HighVoltage>,
    /// The hands are about to do one of these.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub methods: Vec<Method>,
    /// Something feeds what is measured, as the circuit says. Where no circuit knows it: the key is on, or nobody knows.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub fed: bool,
}

/// One safety message and when it comes.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Its name.
    pub id: CautionId,
    /// How bad.
    pub word: SignalWord,
    /// What to do or not to do, then why, in one or two sentences.
    pub text: String,
    /// Public source, or `common practice, no source`.
    pub source: String,
    /// Whose word comes before this one.
    #[serde(default = "defers")]
    pub defers_to: String,
    /// Whether a qualified person must be named before going on.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub qualified_person: bool,
    /// When it comes.
    pub when: When,
}

fn defers() -> String {
    "The vehicle manufacturer's instructions, local codes and licensed practice come first.".to_owned()
}

/// The rules of the library and of the shop.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CautionRules {
    /// In the order in which they are told.
    #[serde(default, rename = "caution")]
    pub rules: Vec<Rule>,
}

/// A shop's rule that takes something away from the library's.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RuleError {
    /// Same name, but silent where the library's speaks.
    #[error("the caution `{id}` is one of the library's: a shop adds under a name of its own, and can't replace it")]
    Silences {
        /// The rule.
        id: CautionId,
    },
    /// A rule twice.
    #[error("the caution `{id}` is there twice")]
    Twice {
        /// The rule.
        id: CautionId,
    },
    /// A rule that is always true says nothing.
    #[error("the caution `{id}` has no condition under `when`")]
    Always {
        /// The rule.
        id: CautionId,
    },
}

impl CautionRules {
    /// The library's rules and, after them, the shop's own: more rules, never fewer.
    pub fn with(mut self, shop: Self) -> Result<Self, RuleError> {
        for rule in shop.rules {
            if self.rules.iter().any(|mine| mine.id == rule.id) {
                return Err(RuleError::Silences { id: rule.id });
            }
            self.rules.push(rule);
        }
        self.checked()
    }

    /// Refuses rules that can't work.
    pub fn checked(self) -> Result<Self, RuleError> {
        for (index, rule) in self.rules.iter().enumerate() {
            if self.rules[..index].iter().any(|other| other.id == rule.id) {
                return Err(RuleError::Twice { id: rule.id.clone() });
            }
            if rule.when == When::default() {
                return Err(RuleError::Always { id: rule.id.clone() });
            }
        }
        Ok(self)
    }

    /// Every zone that a rule speaks of: those that a step may be near.
    pub fn zones(&self) -> Vec<&Zone> {
        let mut zones: Vec<_> = self.rules.iter().flat_map(|rule| &rule.when.zones).collect();
        zones.sort();
        zones.dedup();
        zones
    }

    /// The rule of this name.
    pub fn get(&self, id: &CautionId) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.id == *id)
    }
}

/// Everything that a rule looks at.
#[derive(Clone, Copy, Debug)]
pub struct Circumstances<'a> {
    /// Where the body is.
    pub zones: &'a [Zone],
    /// The vehicle.
    pub vehicle: &'a VehicleState,
    /// What the hands are about to do.
    pub method: Option<Method>,
    /// Now, in minutes since the epoch.
    pub minute: i64,
    /// Whether something feeds what is measured; `None` where no circuit knows it.
    pub fed: Option<bool>,
}

impl When {
    /// Whether the hazard is there.
    pub fn holds(&self, now: Circumstances<'_>) -> bool {
        fn listed<T: PartialEq + Default>(list: &[T], state: &T) -> bool {
            list.is_empty() || *state == T::default() || list.contains(state)
        }
        let zone = self.zones.is_empty() || self.zones.iter().any(|zone| now.zones.contains(zone));
        let method = self.methods.is_empty() || now.method.is_some_and(|method| self.methods.contains(&method));
        let hot = self.engine_hot_minutes.is_none_or(|minutes| is_hot(now, minutes));
        let vehicle = now.vehicle;
        let keyed = || listed(&[Key::On, Key::Accessory], &vehicle.key);
        zone && method
            && (!self.fed || now.fed.unwrap_or_else(keyed))
            && hot
            && listed(&self.key, &vehicle.key)
            && listed(&self.engine, &vehicle.engine)
            && listed(&self.lift, &vehicle.lift)
            && listed(&self.wheels, &vehicle.wheels)
            && listed(&self.battery, &vehicle.battery)
            && listed(&self.high_voltage, &vehicle.high_voltage)
    }
}

/// Running, stopped less than `minutes` ago, or nobody knows. A clock that ran backward counts as hot, and so does a minute
/// before all reckoning: nobody can have looked at a clock then.
fn is_hot(now: Circumstances<'_>, minutes: u32) -> bool {
    match (now.vehicle.engine, now.vehicle.engine_stopped_at) {
        (Engine::Running | Engine::Unknown, _) | (_, None) => true,
        (_, Some(stopped)) => stopped < 0 || now.minute.saturating_sub(stopped) < i64::from(minutes),
    }
}

impl Method {
    /// The method of an action, if it has one that rules know.
    pub fn of_action(action: &Action) -> Option<Self> {
        Some(match action {
            Action::TurnKey { to: Key::On | Key::Accessory } => Self::KeyOn,
            Action::StartEngine => Self::StartEngine,
            Action::Crank => Self::Crank,
            Action::MoveLift { .. } => Self::MoveLift,
            Action::Unplug { .. } => Self::Unplug,
            Action::Plug { .. } => Self::Plug,
            Action::TakeOut { .. } | Action::PutBack { .. } => Self::HandlePart,
            Action::MoveBatteryCable { .. } => Self::BatteryCable,
            Action::Hold { .. } | Action::Release { .. } => Self::MoveByHand,
            Action::Connect { .. } | Action::Disconnect { .. } => Self::Connect,
            Action::TurnKey { .. }
            | Action::StopEngine
            | Action::SecureWheels { .. }
            | Action::Wait { .. }
            | Action::CarryOut { .. } => return None,
        })
    }

    /// The methods of a question: a sweep measures and moves something by hand.
    pub fn of_question(question: &Question) -> SmallVec<[Self; 2]> {
        let mut methods: SmallVec<_> = question
            .function()
            .map(|function| match function {
                Function::Volts | Function::AcVolts => Self::Volts,
                Function::Ohms => Self::Ohms,
                // Nothing is opened for a clamp.
                Function::Amperes if matches!(question.leads(), Some(Leads::Clamp { .. })) => Self::OtherReading,
                Function::Amperes => Self::Amperes,
                Function::Diode => Self::Diode,
                Function::Hertz | Function::Duty | Function::Temperature | Function::Time => Self::OtherReading,
            })
            .into_iter()
            .collect();
        if matches!(question, Question::Sweep { .. } | Question::LowestHighest { .. }) {
            methods.push(Self::MoveByHand);
        }
        methods
    }
}

impl fmt::Display for SignalWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Danger => "DANGER",
            Self::Warning => "WARNING",
            Self::Caution => "CAUTION",
            Self::Notice => "NOTICE",
        })
    }
}

impl SignalWord {
    /// Whether somebody must say that it was read.
    pub const fn needs_acknowledgement(self) -> bool {
        matches!(self, Self::Danger | Self::Warning)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn when(toml: &str) -> When {
        toml::from_str(toml).unwrap()
    }

    #[test]
    fn an_unknown_state_counts_as_hazardous_and_a_known_safe_one_does_not() {
        let rule = when("zones = ['lift']\nlift = ['raised']");
        let zones = [Zone::new("lift")];
        let mut vehicle = VehicleState::default();
        let now = |vehicle: &VehicleState, zones: &[Zone]| {
            rule.holds(Circumstances { zones, vehicle, method: None, minute: 0, fed: None })
        };
        assert!(now(&vehicle, &zones));
        assert!(!now(&vehicle, &[]));
        vehicle.lift = Lift::Down;
        assert!(!now(&vehicle, &zones));
        vehicle.lift = Lift::Raised;
        assert!(now(&vehicle, &zones));
    }

    #[test]
    fn an_exhaust_is_hot_until_it_has_had_its_time_and_a_clock_that_ran_backward_means_hot() {
        let rule = when("engine_hot_minutes = 60");
        let vehicle =
            VehicleState { engine: Engine::Stopped, engine_stopped_at: Some(1000), ..VehicleState::default() };
        let at = |minute| rule.holds(Circumstances { zones: &[], vehicle: &vehicle, method: None, minute, fed: None });
        assert!(at(1059));
        assert!(!at(1060));
        assert!(at(990));
        for beyond in [i64::MIN, -1, i64::MAX] {
            let vehicle = VehicleState { engine_stopped_at: Some(beyond), ..vehicle.clone() };
            let now = Circumstances { zones: &[], vehicle: &vehicle, method: None, minute: 1060, fed: None };
            assert!(rule.holds(now), "{beyond}");
        }
        let never_said = VehicleState { engine: Engine::Stopped, ..VehicleState::default() };
        assert!(rule.holds(Circumstances { zones: &[], vehicle: &never_said, method: None, minute: 0, fed: None }));
    }

    #[test]
    fn the_circuit_says_what_is_fed_and_else_the_key_does() {
        let rule = when("fed = true\nmethods = ['ohms']");
        let holds = |key, fed| {
            let vehicle = VehicleState { key, ..VehicleState::default() };
            rule.holds(Circumstances { zones: &[], vehicle: &vehicle, method: Some(Method::Ohms), minute: 0, fed })
        };
        for key in [Key::Off, Key::On, Key::Unknown] {
            assert!(holds(key, Some(true)) && !holds(key, Some(false)), "{key:?}");
            assert_eq!(holds(key, None), key != Key::Off, "{key:?}");
        }
    }

    #[test]
    fn a_shop_adds_rules_and_can_not_silence_one() {
        let rules = |id: &str| -> CautionRules {
            toml::from_str(&format!(
                "[[caution]]\nid = '{id}'\nword = 'DANGER'\ntext = 'x'\nsource = 'y'\nwhen = {{ zones = ['lift'] }}"
            ))
            .unwrap()
        };
        assert_eq!(rules("raised").with(rules("own")).unwrap().rules.len(), 2);
        assert!(matches!(rules("raised").with(rules("raised")), Err(RuleError::Silences { .. })));
    }
}
