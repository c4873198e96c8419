//! Safety messages by rule: zone × vehicle state × method.

use super::meter::Function;
use super::prompt::{CautionId, Leads, Question, Zone};
use super::vehicle::method::Method;
use super::vehicle::{Action, Battery, Key};
use serde::{Deserialize, Serialize};
use signal_word::{Confirm, Harm, Likelihood, SignalWord};
use smallvec::SmallVec;
use when::When;

pub mod signal_word;
pub mod when;

/// One safety message and when it comes. Its signal word follows from harm and likelihood. An older rule states its word and
/// has one text instead of the parts.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Its name.
    pub id: CautionId,
    /// An older rule's word.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub word: Option<SignalWord>,
    /// An older rule's text.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub text: String,
    /// The hazard, in a few words: it ends the line of a reminder.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub hazard: String,
    /// How bad.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub harm: Option<Harm>,
    /// How likely.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub likelihood: Option<Likelihood>,
    /// The harm that comes of it, and to whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub consequence: String,
    /// How to avoid it; its first sentence stands in the reminder.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub avoid: String,
    /// The words that the technician confirms: `locks set and tried`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub confirm_text: String,
    /// Hazard and how to avoid it, short enough that a reminder is one line; else they are taken from their sentences.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remind: String,
    /// Public source, or `common practice, no source`.
    pub source: String,
    /// How often it is confirmed.
    #[serde(default, skip_serializing_if = "is_once")]
    pub confirm: Confirm,
    /// The rule whose hazard this is, seen from another side: where that one is confirmed, one line tells of this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub same_hazard_as: Option<CautionId>,
    /// Whose word comes before this one, where a rule says it by itself.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub defers_to: String,
    /// Whether a qualified person must be named before going on.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub qualified_person: bool,
    /// When it comes.
    pub when: When,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_once(confirm: &Confirm) -> bool {
    *confirm == Confirm::Once
}

/// A sentence that goes on after a colon.
fn small(sentence: &str) -> String {
    let mut letters = sentence.chars();
    match letters.next() {
        Some(first) if letters.clone().next().is_some_and(|next| next.is_lowercase() || next == ' ') => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => sentence.to_owned(),
    }
}

/// Whose word comes before every caution: said once at the start of a run, and once on each report.
pub const FIRST_WORD: &str =
    "The vehicle manufacturer's instructions, local codes and licensed practice come before every caution here.";

impl Rule {
    /// Its signal word.
    pub fn word(&self) -> SignalWord {
        match (self.harm, self.likelihood) {
            (Some(Harm::Death | Harm::Serious), Some(Likelihood::Will)) => SignalWord::Danger,
            (Some(Harm::Death | Harm::Serious), _) => SignalWord::Warning,
            (Some(Harm::Minor), _) => SignalWord::Caution,
            (Some(Harm::Property), _) => SignalWord::Notice,
            (None, _) => self.word.unwrap_or(SignalWord::Warning),
        }
    }

    /// Whether it is written in the older way.
    pub fn is_older(&self) -> bool {
        self.word.is_some() || !self.text.is_empty()
    }

    /// Its sentences in order.
    pub fn sentences(&self) -> Vec<&str> {
        [&self.text, &self.hazard, &self.consequence, &self.avoid]
            .into_iter()
            .map(|part| part.trim())
            .filter(|part| !part.is_empty())
            .collect()
    }

    /// All that it says, in one line.
    pub fn says(&self) -> String {
        self.sentences().join(" ")
    }

    /// All that is shown of it: what the digest in a record stands for.
    pub fn as_shown(&self) -> String {
        let mut shown = format!("{}\n{}", self.word(), self.says());
        if !self.confirm_text.is_empty() {
            shown.push_str(&format!("\n+ {}", self.confirm_text));
        }
        shown
    }

    /// One line for when it becomes true again.
    pub fn reminder(&self) -> String {
        let first = |text: &str| match text.trim().split_once(". ") {
            Some((first, _)) => format!("{first}."),
            None => text.trim().to_owned(),
        };
        let says = match (self.remind.trim(), self.hazard.trim()) {
            ("", "") => first(&self.text),
            ("", hazard) => format!("{} {}", small(hazard), first(&self.avoid)),
            (short, _) => short.to_owned(),
        };
        format!("{}{} again: {says}", self.word().symbol(), self.word())
    }

    /// Whether somebody must confirm it.
    pub fn needs_confirming(&self) -> bool {
        self.word().needs_acknowledgement() || self.qualified_person
    }

    /// The missing or surplus field, and what to write; `None` for a whole rule.
    pub fn lacks(&self) -> Option<(&'static str, &'static str)> {
        const PARTS: &str =
            "write hazard, harm, likelihood, consequence, avoid and confirm_text; the word follows from them";
        let is_new = self.harm.is_some()
            || self.likelihood.is_some()
            || [&self.hazard, &self.consequence, &self.avoid].iter().any(|part| !part.is_empty());
        if self.is_older() {
            return match (is_new, self.word, self.text.trim().is_empty()) {
                (true, Some(_), _) => Some(("word", "take it out: the word follows from harm and likelihood")),
                (true, None, _) => Some(("text", "take it out: hazard, consequence and avoid say it")),
                (false, None, _) => Some(("text", PARTS)),
                (false, Some(_), true) => Some(("text", PARTS)),
                (false, Some(_), false) => None,
            };
        }
        let wants_likelihood = matches!(self.harm, Some(Harm::Death | Harm::Serious));
        [
            ("hazard", self.hazard.trim().is_empty()),
            ("harm", self.harm.is_none()),
            ("likelihood", wants_likelihood && self.likelihood.is_none()),
            ("consequence", self.consequence.trim().is_empty()),
            ("avoid", self.avoid.trim().is_empty()),
            ("confirm_text", self.needs_confirming() && self.confirm_text.trim().is_empty()),
        ]
        .into_iter()
        .find_map(|(field, missing)| missing.then_some((field, PARTS)))
    }
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
    /// A rule that does not say all that it must, or says it twice.
    #[error("the caution `{id}` is not whole: see `{field}`")]
    NotWhole {
        /// The rule.
        id: CautionId,
        /// Where.
        field: &'static str,
        /// The missing text.
        hint: &'static str,
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
            if let Some((field, hint)) = rule.lacks() {
                return Err(RuleError::NotWhole { id: rule.id.clone(), field, hint });
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

impl Method {
    /// The methods of an action that rules know.
    pub fn of_action(action: &Action) -> SmallVec<[Self; 2]> {
        let one = match action {
            Action::TurnKey { to: Key::On | Key::Accessory } => Self::KeyOn,
            Action::StartEngine => Self::StartEngine,
            Action::Crank => Self::Crank,
            Action::MoveLift { .. } => Self::MoveLift,
            Action::Unplug { .. } => Self::Unplug,
            Action::Plug { .. } => Self::Plug,
            Action::TakeOut { .. } | Action::PutBack { .. } => Self::HandlePart,
            Action::MoveBatteryCable { to: Battery::Disconnected } => {
                return SmallVec::from_slice(&[Self::BatteryCable, Self::BatteryOff]);
            }
            Action::MoveBatteryCable { .. } => Self::BatteryCable,
            Action::Hold { .. } | Action::Release { .. } => Self::MoveByHand,
            Action::Connect { .. } => Self::Connect,
            Action::Disconnect { .. } => Self::Disconnect,
            Action::CarryOut { methods, .. } => return methods.iter().flatten().copied().collect(),
            Action::TurnKey { .. }
            | Action::StopEngine
            | Action::SecureWheels { .. }
            | Action::Wait { .. }
            | Action::TakeLeadsOff { .. } => {
                return SmallVec::new();
            }
        };
        SmallVec::from_slice(&[one])
    }

    /// As older programs had it: taking a jumper away counted as putting one in place.
    pub fn as_before_4(self) -> Self {
        if self == Self::Disconnect { Self::Connect } else { self }
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

#[cfg(test)]
mod tests {
    use super::when::Circumstances;
    use super::*;
    use crate::model::vehicle::{Engine, HighVoltage, Lift, VehicleState};

    fn when(toml: &str) -> When {
        toml::from_str(toml).unwrap()
    }

    #[test]
    fn an_unknown_state_counts_as_hazardous_and_a_known_safe_one_does_not() {
        let rule = when("zones = ['lift']\nlift = ['raised']");
        let zones = [Zone::new("lift")];
        let mut vehicle = VehicleState::default();
        let now = |vehicle: &VehicleState, zones: &[Zone]| {
            rule.holds(Circumstances { zones, vehicle, method: None, minute: 0, fed: None, anywhere: false })
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
        let at = |minute| {
            rule.holds(Circumstances {
                zones: &[],
                vehicle: &vehicle,
                method: None,
                minute,
                fed: None,
                anywhere: false,
            })
        };
        assert!(at(1059));
        assert!(!at(1060));
        assert!(at(990));
        for beyond in [i64::MIN, -1, i64::MAX] {
            let vehicle = VehicleState { engine_stopped_at: Some(beyond), ..vehicle.clone() };
            let now =
                Circumstances { zones: &[], vehicle: &vehicle, method: None, minute: 1060, fed: None, anywhere: false };
            assert!(rule.holds(now), "{beyond}");
        }
        let never_said = VehicleState { engine: Engine::Stopped, ..VehicleState::default() };
        assert!(rule.holds(Circumstances {
            zones: &[],
            vehicle: &never_said,
            method: None,
            minute: 0,
            fed: None,
            anywhere: false
        }));
    }

    #[test]
    fn the_circuit_says_what_is_fed_and_else_the_key_does() {
        let rule = when("fed = true\nmethods = ['ohms']");
        let holds = |key, fed| {
            let vehicle = VehicleState { key, ..VehicleState::default() };
            rule.holds(Circumstances {
                zones: &[],
                vehicle: &vehicle,
                method: Some(Method::Ohms),
                minute: 0,
                fed,
                anywhere: false,
            })
        };
        for key in [Key::Off, Key::On, Key::Unknown] {
            assert!(holds(key, Some(true)) && !holds(key, Some(false)), "{key:?}");
            assert_eq!(holds(key, None), key != Key::Off, "{key:?}");
        }
    }

    #[test]
    fn the_word_follows_from_harm_and_likelihood_and_an_older_rule_keeps_its_own() {
        let rule = |fields: &str| -> Rule {
            toml::from_str(&format!("id = 'x'\n{fields}\nsource = 'y'\nwhen = {{ zones = ['lift'] }}")).unwrap()
        };
        let parts = "hazard = 'A.'\nconsequence = 'B.'\navoid = 'C. D.'\nconfirm_text = 'seen'\n";
        for (harm, likelihood, word) in [
            ("death", "will", SignalWord::Danger),
            ("serious", "will", SignalWord::Danger),
            ("death", "could", SignalWord::Warning),
            ("serious", "could", SignalWord::Warning),
            ("minor", "will", SignalWord::Caution),
            ("minor", "could", SignalWord::Caution),
            ("property", "will", SignalWord::Notice),
        ] {
            let rule = rule(&format!("{parts}harm = '{harm}'\nlikelihood = '{likelihood}'"));
            assert_eq!((rule.word(), rule.lacks()), (word, None), "{harm}, {likelihood}");
        }
        let whole = rule(&format!("{parts}harm = 'serious'\nlikelihood = 'could'"));
        assert_eq!(whole.says(), "A. B. C. D.");
        assert_eq!(whole.reminder(), "\u{26a0} WARNING again: A. C.");
        let short = rule(&format!("{parts}harm = 'serious'\nlikelihood = 'could'\nremind = 'a; c.'"));
        assert_eq!(short.reminder(), "\u{26a0} WARNING again: a; c.");
        assert_eq!(short.as_shown(), whole.as_shown(), "the digest in a record is of the caution");
        let older = rule("word = 'DANGER'\ntext = 'Mind it. Or else.'");
        assert_eq!((older.word(), older.lacks(), older.is_older()), (SignalWord::Danger, None, true));
        assert_eq!(older.reminder(), "\u{26a0} DANGER again: Mind it.");
        for (fields, field) in [
            (format!("{parts}harm = 'death'"), "likelihood"),
            (format!("{parts}likelihood = 'could'"), "harm"),
            (format!("{parts}harm = 'minor'\nword = 'DANGER'"), "word"),
            ("hazard = 'A.'\nharm = 'minor'\navoid = 'C.'".to_owned(), "consequence"),
            ("text = 'A.'".to_owned(), "text"),
            ("word = 'DANGER'".to_owned(), "text"),
            (String::new(), "hazard"),
        ] {
            assert_eq!(rule(&fields).lacks().map(|(field, _)| field), Some(field), "{fields}");
        }
    }

    #[test]
    fn a_place_of_which_nothing_is_said_is_near_every_zone_and_high_voltage_that_is_not_there_is_nowhere() {
        let near = |zone: &str, high_voltage| {
            let vehicle = VehicleState { high_voltage, ..VehicleState::default() };
            let now = |anywhere| Circumstances {
                zones: &[],
                anywhere,
                vehicle: &vehicle,
                method: None,
                minute: 0,
                fed: None,
            };
            let rule = when(&format!("zones = ['{zone}']"));
            (rule.holds(now(true)), rule.holds(now(false)))
        };
        assert_eq!(near("battery", HighVoltage::Absent), (true, false));
        assert_eq!(near("high_voltage", HighVoltage::Unknown), (true, false));
        assert_eq!(near("high_voltage", HighVoltage::Absent), (false, false));
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
