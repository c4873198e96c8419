//! A file that a run depends on: what kind it is, its name, its digest.

use serde::{Deserialize, Serialize};

/// The kind of file that a digest names.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SourceKind {
    /// The procedure's script.
    Procedure,
    /// A library file that it uses.
    Library,
    /// The circuit.
    Circuit,
    /// Caution rules.
    Cautions,
    /// The meter's figures.
    Meter,
    /// The shop's people and their keys.
    People,
}

impl SourceKind {
    /// In words: `library file`.
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::Procedure => "procedure",
            Self::Library => "library file",
            Self::Circuit => "circuit",
            Self::Cautions => "caution rules",
            Self::Meter => "meter",
            Self::People => "shop and people",
        }
    }
}

/// A file that the run depends on, kept once under its digest.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct SourceRef {
    /// What it is.
    pub kind: SourceKind,
    /// Its name.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}
