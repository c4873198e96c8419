//! How one record comes out of another.

use super::id::RecordId;
use serde::{Deserialize, Serialize};

/// How a record came out of another.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LinkKind {
    /// The check after the repair.
    AfterRepair,
    /// The procedure was edited while the other run was open.
    EditedProcedure,
    /// The row of the table was changed.
    ChangedRow,
}

/// A record that this one came out of.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Link {
    /// How.
    pub kind: LinkKind,
    /// The other record's name where both lie in one folder, else its folder's whole path. Older records may have a path as it
    /// was typed.
    pub record: String,
    /// The other record's own id, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<RecordId>,
    /// SHA-256 of the other journal's bytes at that moment.
    pub sha256: String,
}
