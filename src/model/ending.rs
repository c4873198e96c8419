//! How a run ends without a cause, with the reason as a value: wording may change, what is recorded may not.

use super::prompt::{CautionId, PromptId};
use super::vehicle::Action;
use serde::{Deserialize, Deserializer, Serialize, de};
use std::fmt;

/// How a run ended without a cause.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(tag = "how", rename_all = "snake_case")]
pub enum Ending {
    /// The script came to its end and named nothing.
    Unconcluded,
    /// It could not go on.
    Unfinished {
        /// Why.
        #[serde(flatten)]
        why: Why,
        /// Somebody's own words about it.
        #[serde(skip_serializing_if = "Option::is_none")]
        words: Option<String>,
    },
    /// The script has an error.
    Failed {
        /// Which, and where.
        message: String,
    },
}

/// Why a run could not go on.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(tag = "why", rename_all = "snake_case")]
pub enum Why {
    /// An action was not done.
    NotDone {
        /// Which.
        action: Action,
    },
    /// The procedure needs an answer that was skipped.
    Needs {
        /// Its prompt.
        id: PromptId,
    },
    /// The procedure needs to know on which side of its limits a reading lies that shows OL.
    OverRange {
        /// The reading's prompt.
        id: PromptId,
    },
    /// The procedure needs a number where the meter shows OL.
    NoValue {
        /// The reading's prompt.
        id: PromptId,
    },
    /// A caution asks for a qualified person, and nobody was named.
    NoQualifiedPerson {
        /// The caution.
        caution: CautionId,
    },
    /// The procedure's author gave a reason.
    Author {
        /// The words.
        text: String,
    },
    /// The technician stopped at a caution.
    RefusedCaution {
        /// The caution.
        caution: CautionId,
    },
    /// A voltage was read that no limit of its prompt allows and that can kill.
    DangerousVoltage {
        /// The reading's prompt.
        id: PromptId,
    },
    /// The procedure needs a steady value, and the reading does not rest.
    Unsteady {
        /// The reading's prompt.
        id: PromptId,
    },
    /// The run wrote as many events as it may. Read and not written yet: such a run ends as one whose script failed, with the
    /// place, and goes on when the header allows more.
    EventLimit {
        /// How many.
        events: usize,
    },
    /// An exercise was ended by an act that its rules do not allow.
    StopAct {
        /// The rule.
        rule: String,
    },
    /// A reason in a record of format 1, before it is understood. Never written.
    #[serde(skip_deserializing)]
    InWords {
        /// The sentence.
        reason: String,
    },
    /// An action that was not done, in a record of format 1, which has only its words. Never written.
    #[serde(skip_deserializing)]
    NotDoneInWords {
        /// The action's words, with what somebody said to it in brackets where the record is one of the oldest.
        action: String,
    },
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotDone { action } => write!(f, "not done: {action}"),
            Self::NotDoneInWords { action } => write!(f, "not done: {action}"),
            Self::Needs { id } => write!(f, "`{id}` was skipped, and the procedure needs it"),
            Self::OverRange { id } => write!(
                f,
                "`{id}` shows OL, which says nothing of the circuit: look at the meter's dial, range and leads"
            ),
            Self::NoValue { id } => write!(f, "`{id}` shows OL, and the procedure needs its value"),
            Self::NoQualifiedPerson { caution } => write!(f, "no qualified person was named for `{caution}`"),
            Self::Author { text } | Self::InWords { reason: text } => f.write_str(text),
            Self::RefusedCaution { caution } => write!(f, "the technician stopped at the caution `{caution}`"),
            Self::DangerousVoltage { id } => write!(f, "`{id}` shows a voltage that can kill: find out what it is"),
            Self::Unsteady { id } => write!(f, "`{id}` does not rest, and the procedure needs a steady value"),
            Self::EventLimit { events } => write!(f, "the run wrote {events} events, the most that a run may write"),
            Self::StopAct { rule } => write!(f, "the exercise ended at an act that is not allowed: {rule}"),
        }
    }
}

impl Ending {
    /// It could not go on, and nobody said anything to it.
    pub const fn unfinished(why: Why) -> Self {
        Self::Unfinished { why, words: None }
    }

    /// The procedure's author gave a reason.
    pub fn author(text: impl Into<String>) -> Self {
        Self::unfinished(Why::Author { text: text.into() })
    }

    /// An action was not done, and somebody said why.
    pub fn not_done(action: Action, words: &str) -> Self {
        Self::Unfinished { why: Why::NotDone { action }, words: Some(words.to_owned()) }
    }

    /// The procedure needs an answer that was skipped, and somebody said why.
    pub fn needs(id: PromptId, words: &str) -> Self {
        Self::Unfinished { why: Why::Needs { id }, words: Some(words.to_owned()) }
    }

    /// Somebody's words about an action that was not done, where this is the end that came of it.
    pub fn why_not_done(&self, action: &Action) -> Option<&str> {
        match self {
            Self::Unfinished { why: Why::NotDone { action: then }, words } if then == action => words.as_deref(),
            Self::Unfinished { why: Why::NotDoneInWords { action: then }, words } => {
                let rest = then.strip_prefix(&action.to_string())?;
                match words {
                    Some(words) if rest.is_empty() => Some(words),
                    Some(_) => None,
                    // Before there was a place of their own for the words, they stood in brackets after the reason.
                    None => rest.strip_prefix(" (")?.strip_suffix(')'),
                }
            }
            _ => None,
        }
    }

    /// Why it could not go on, with what somebody said to it; of the other ends nothing.
    pub fn reason(&self) -> Option<String> {
        match self {
            Self::Unfinished { why, words: Some(words) } => Some(format!("{why} ({words})")),
            Self::Unfinished { why, words: None } => Some(why.to_string()),
            Self::Unconcluded | Self::Failed { .. } => None,
        }
    }

    /// Whether a run that ended so comes to the same end again: a record of format 1 has its reason in words.
    pub fn is_the_same_as(&self, now: &Self) -> bool {
        match (self, now) {
            (
                Self::Unfinished { why: Why::NotDoneInWords { .. }, .. },
                Self::Unfinished { why: Why::NotDone { action }, words: Some(words) },
            ) => self.why_not_done(action) == Some(words),
            _ => self == now,
        }
    }
}

/// The fields of an ending as they are written, in either format.
#[derive(Deserialize)]
struct Fields {
    how: How,
    #[serde(flatten)]
    why: Option<Why>,
    reason: Option<String>,
    words: Option<String>,
    message: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum How {
    Unconcluded,
    Unfinished,
    Failed,
}

impl<'de> Deserialize<'de> for Ending {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let Fields { how, why, reason, words, message } = Fields::deserialize(deserializer)?;
        match how {
            How::Unconcluded => Ok(Self::Unconcluded),
            How::Failed => {
                message.map(|message| Self::Failed { message }).ok_or_else(|| de::Error::missing_field("message"))
            }
            How::Unfinished => why
                .or_else(|| reason.map(|reason| Why::InWords { reason }))
                .map(|why| Self::Unfinished { why, words })
                .ok_or_else(|| de::Error::missing_field("why")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unplug(connector: &str) -> Action {
        Action::Unplug { connector: connector.into() }
    }

    #[test]
    fn what_somebody_said_stands_apart_from_the_reason() {
        let needs = Ending::needs(PromptId::new("fit"), "no (light) here");
        assert_eq!(needs.reason().as_deref(), Some("`fit` was skipped, and the procedure needs it (no (light) here)"));
        let not_done = Ending::not_done(unplug("C41"), "no tool (again)");
        assert_eq!(not_done.why_not_done(&unplug("C41")), Some("no tool (again)"));
        assert_eq!(not_done.why_not_done(&unplug("C4")), None);
    }

    #[test]
    fn every_reason_is_read_as_it_was_written() {
        let id = || PromptId::new("fit");
        let caution = || CautionId::new("high_voltage");
        let text = || "some words".to_owned();
        let all = [
            Why::NotDone { action: unplug("C41") },
            Why::Needs { id: id() },
            Why::OverRange { id: id() },
            Why::NoValue { id: id() },
            Why::NoQualifiedPerson { caution: caution() },
            Why::Author { text: text() },
            Why::RefusedCaution { caution: caution() },
            Why::DangerousVoltage { id: id() },
            Why::Unsteady { id: id() },
            Why::EventLimit { events: 10_000 },
            Why::StopAct { rule: text() },
        ];
        for why in all {
            for words in [None, Some("said".to_owned())] {
                let ending = Ending::Unfinished { why: why.clone(), words };
                let line = serde_json::to_string(&ending).unwrap();
                assert_eq!(serde_json::from_str::<Ending>(&line).unwrap(), ending, "{line}");
            }
        }
        assert!(serde_json::from_str::<Ending>(r#"{"how":"unfinished","why":"in_words","reason":"x"}"#).is_ok());
        assert!(serde_json::from_str::<Ending>(r#"{"how":"unfinished"}"#).is_err());
    }
}
