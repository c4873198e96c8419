//! What every command knows: the shop, where records lie, the clock.

use crate::cli::arguments::Arguments;
use crate::cli::clock::EdgeClock;
use crate::cli::error::CliError;
use crate::cli::shop::ShopFolder;
use crate::cli::store::Store;

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

impl Settings {
    /// From the arguments, the environment and where one stands.
    pub fn find(arguments: &Arguments) -> Result<Self, CliError> {
        let here = std::env::current_dir()?;
        let shop = ShopFolder::find(arguments.shop.as_deref(), &here)?;
        let records = match &arguments.records {
            Some(folder) => folder.clone(),
            None => shop.root.as_deref().unwrap_or(&here).join("records"),
        };
        let clock = EdgeClock::from_environment().map_err(CliError::usage)?;
        Ok(Self { shop, store: Store::new(records), clock })
    }
}
