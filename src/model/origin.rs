//! Where an answer came from: kept with each answer, each reading of a sweep, each action and each confirmed caution.

use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Where an answer came from.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(tag = "from", rename_all = "snake_case", try_from = "Fields")]
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
        /// Its text, as it came.
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
    NotSaid,
}

/// What a line says of it, each field straight in its place: what is derived would put them all aside first.
#[derive(Deserialize)]
struct Fields {
    from: From,
    person: Option<String>,
    showed: Option<Arc<str>>,
    id: Option<String>,
    raw: Option<String>,
    range: Option<String>,
    pairing: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum From {
    Typed,
    CarriedOver,
    Bench,
    Table,
    File,
    Instrument,
    Page,
    Input,
}

/// A field without which it says nothing.
#[derive(Debug, thiserror::Error)]
#[error("missing field `{0}`")]
struct Missing(&'static str);

impl TryFrom<Fields> for Origin {
    type Error = Missing;
    fn try_from(fields: Fields) -> Result<Self, Missing> {
        let Fields { from, person, showed, id, raw, range, pairing } = fields;
        Ok(match from {
            From::Typed => Self::Typed { person },
            From::CarriedOver => Self::CarriedOver,
            From::Bench => Self::Bench { showed },
            From::Table => Self::Table,
            From::File => Self::File,
            From::Instrument => {
                Self::Instrument { id: id.ok_or(Missing("id"))?, raw: raw.ok_or(Missing("raw"))?, range }
            }
            From::Page => {
                Self::Page { pairing: pairing.ok_or(Missing("pairing"))?, person: person.ok_or(Missing("person"))? }
            }
            From::Input => Self::Input,
        })
    }
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

    /// Whether a person is known to have been there: at a terminal, or with a page in hand.
    pub const fn is_a_person(&self) -> bool {
        matches!(self, Self::Typed { .. } | Self::Page { .. })
    }

    /// Whether it was taken over from an earlier record.
    pub const fn is_carried_over(&self) -> bool {
        matches!(self, Self::CarriedOver)
    }
}
