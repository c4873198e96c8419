//! The row of a table that a record stands for.

use serde::{Deserialize, Serialize};

/// The row of a table that a record stands for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TableRow {
    /// Name of the table.
    pub table: String,
    /// Line in it.
    pub row: u64,
    /// SHA-256 of the row's cells with their columns.
    pub sha256: String,
}
