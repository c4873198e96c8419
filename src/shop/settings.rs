//! What everything that is done in a shop begins with.

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
}
