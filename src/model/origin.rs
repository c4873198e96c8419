//! Where an answer came from: kept with each answer, each reading of a sweep, each action and each confirmed caution.

use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Where an answer came from.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(tag = "from", rename_all = "snake_case")]
pub enum Origin {
    /// A person typed it at a terminal.
    Typed {
        /// Who, where more than one person answers.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<String>,
    },
    /// Taken over from the record that this one is linked to.
    CarriedOver,
    /// A simulated vehicle answered, or a person beside its meter.
    Bench {
        /// What the simulated meter showed, where it showed something: a person may have typed another value.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        showed: Option<Arc<str>>,
    },
    /// A cell of a table.
    Table,
    /// An answers file.
    File,
    /// A meter that sends its readings.
    Instrument {
        /// The shop's name for it.
        id: String,
        /// What it sent, as it came.
        raw: String,
        /// The range that it was set to, if it said so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        range: Option<String>,
    },
    /// A page on a phone or tablet.
    Page {
        /// Which pairing.
        pairing: String,
        /// Who holds it.
        person: String,
    },
    /// A pipe or file at the standard input: nobody is known to have been there.
    Input,
    /// A record of format 1, before it is understood. Never written.
    #[default]
    #[serde(skip_deserializing)]
    NotSaid,
}

impl Origin {
    /// A person at a terminal, of whom nothing else is said.
    pub const TYPED: Self = Self::Typed { person: None };

    /// Who it was, where that is said.
    pub fn person(&self) -> Option<&str> {
        match self {
            Self::Typed { person } => person.as_deref(),
            Self::Page { person, .. } => Some(person),
            _ => None,
        }
    }

    /// Whether it was taken over from an earlier record.
    pub const fn is_carried_over(&self) -> bool {
        matches!(self, Self::CarriedOver)
    }
}
