//! The reason of a wait, and what follows from it.

use serde::{Deserialize, Serialize};

/// The reason of a wait.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WaitFor {
    /// Modules fall asleep.
    Asleep,
    /// Something hot cools.
    Cooled,
    /// Stored energy runs down.
    Discharged,
    /// A battery rests.
    Rested,
    /// A battery is charged.
    Charged,
}

impl WaitFor {
    /// All of them, as a script writes them.
    pub const WORDS: [&str; 5] = ["asleep", "cooled", "discharged", "rested", "charged"];

    /// The one that a script writes so.
    pub fn named(word: &str) -> Option<Self> {
        let all = [Self::Asleep, Self::Cooled, Self::Discharged, Self::Rested, Self::Charged];
        all.into_iter().zip(Self::WORDS).find_map(|(kind, known)| (known == word).then_some(kind))
    }

    /// Why one waits.
    pub const fn reason(self) -> &'static str {
        match self {
            Self::Asleep => "the modules fall asleep",
            Self::Cooled => "hot parts cool",
            Self::Discharged => "stored energy runs down",
            Self::Rested => "the battery rests",
            Self::Charged => "the battery charges",
        }
    }

    /// Whether safety asks for it: nothing is changed meanwhile.
    pub const fn is_for_safety(self) -> bool {
        matches!(self, Self::Cooled | Self::Discharged)
    }

    /// Whether somebody may say that it is over before its time.
    pub const fn may_be_shortened(self) -> bool {
        !matches!(self, Self::Discharged)
    }

    /// Whether readings may be taken meanwhile: they disturb nothing that is waited for.
    pub const fn takes_readings(self) -> bool {
        matches!(self, Self::Rested | Self::Charged)
    }
}
