//! What everything that is done in a shop begins with.

use crate::model::answered_by::AnsweredBy;
use crate::model::started::{Continued, Station};
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
    /// How a sitting of this program begins here.
    pub fn sitting(&self, technician: Option<String>, answered_by: AnsweredBy) -> Continued {
        Continued::here(self.station.clone(), technician, answered_by)
    }
}
