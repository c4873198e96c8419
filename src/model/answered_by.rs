//! Who or what answers a run.

use serde::{Deserialize, Serialize};

/// Who or what answers.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AnsweredBy {
    /// A person at the vehicle.
    Person,
    /// An answers file.
    File,
    /// A row of a table.
    Table,
    /// A simulated circuit.
    Bench,
    /// An earlier record.
    Record,
}
