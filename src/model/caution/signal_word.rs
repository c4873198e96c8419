//! Signal words, and what they follow from.

use serde::{Deserialize, Serialize};
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
    /// The alert symbol belongs to the words about injury, not to a notice.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Notice => "",
            Self::Danger | Self::Warning | Self::Caution => "\u{26a0} ",
        }
    }

    /// Whether somebody must say that it was read.
    pub const fn needs_acknowledgement(self) -> bool {
        matches!(self, Self::Danger | Self::Warning)
    }
}

/// How bad it is when it happens.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Harm {
    /// Somebody dies.
    Death,
    /// Somebody is injured for long: an eye, a hand, deep burns.
    Serious,
    /// Somebody is hurt, and heals.
    Minor,
    /// Parts, data, time.
    Property,
}

/// How likely the harm is where the hazard is not avoided.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Likelihood {
    /// It happens nearly every time.
    Will,
    /// It can happen.
    Could,
}

/// How often somebody confirms a caution; where it is not confirmed again, one line reminds.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Confirm {
    /// Each time that its hazard becomes true.
    EachTime,
    /// Once for each connector or point.
    ByPlace,
    /// Once.
    #[default]
    Once,
}
