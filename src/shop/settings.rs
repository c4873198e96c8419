//! What everything that is done in a shop begins with.

use crate::model::answered_by::AnsweredBy;
use crate::model::id::RecordId;
use crate::model::started::{Continued, Station};
use crate::records::error::RecordsError;
use crate::records::latest;
use crate::records::store::Store;
use crate::shop::clock::EdgeClock;
use crate::shop::folder::ShopFolder;

/// What every command knows.
#[derive(Clone)]
pub struct Settings {
    /// The shop.
    pub shop: ShopFolder,
    /// Where records lie.
    pub store: Store,
    /// The time.
    pub clock: EdgeClock,
    /// This computer, as its records say it.
    pub station: Option<Station>,
}

impl Settings {
    /// The record that is meant where none is named: the latest of this station.
    ///
    /// # Errors
    /// There is none, or the folder of records can't be read.
    pub fn latest(&self) -> Result<String, RecordsError> {
        latest::latest(&self.store, self.station.as_ref())
    }

    /// Says that a sitting begins here in a record.
    ///
    /// # Errors
    /// The folder of records can't be written.
    pub fn sits_at(&self, record: &str, id: Option<RecordId>) -> Result<(), RecordsError> {
        latest::mark(&self.store, self.station.as_ref(), record, id)
    }

    /// Says that a table is run here: its rows are written side by side, and a file for each would cost more than the row.
    ///
    /// # Errors
    /// The folder of records can't be written.
    pub fn sits_at_a_table(&self) -> Result<(), RecordsError> {
        latest::forget(&self.store, self.station.as_ref())
    }

    /// How a sitting of this program begins here.
    pub fn sitting(&self, technician: Option<String>, answered_by: AnsweredBy) -> Continued {
        Continued::here(self.station.clone(), technician, answered_by)
    }
}
