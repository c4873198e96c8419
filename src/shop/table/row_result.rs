//! The result of one row of a table.

use std::collections::BTreeSet;

/// The result of a row, in a word.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RowOutcome {
    /// It came to a cause.
    Concluded,
    /// It did before, and nothing of it has changed.
    AsBefore,
    /// It ended without a cause.
    Ended,
    /// It lacks an answer.
    Waits,
    /// It could not be run, or the procedure has an error.
    Failed,
}

impl RowOutcome {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Concluded => "concluded",
            Self::AsBefore => "as before",
            Self::Ended => "ended",
            Self::Waits => "waits",
            Self::Failed => "failed",
        }
    }

    /// Whether somebody has to look at the row.
    pub const fn wants_a_hand(self) -> bool {
        matches!(self, Self::Waits | Self::Failed)
    }
}

impl std::fmt::Display for RowOutcome {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

/// The result of a row.
pub struct RowResult {
    /// The line on which it stands.
    pub line: u64,
    /// The vehicle, as its cell has it.
    pub vehicle: String,
    /// The record's name; empty if none could be begun.
    pub record: String,
    /// How it stands.
    pub outcome: RowOutcome,
    /// The causes that were named.
    pub cause: String,
    /// What is wrong.
    pub detail: String,
    /// The prompts that were asked.
    pub used: BTreeSet<String>,
    /// What else is to be said of its cells.
    pub notes: Vec<String>,
}

impl RowResult {
    /// A row of which no record could be begun.
    pub fn failed(line: u64, vehicle: String, detail: String) -> Self {
        Self {
            line,
            vehicle,
            record: String::new(),
            outcome: RowOutcome::Failed,
            cause: String::new(),
            detail,
            used: BTreeSet::new(),
            notes: Vec::new(),
        }
    }
}
