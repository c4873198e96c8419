//! What every command knows, from the arguments, the environment and where one stands.

use crate::cli::arguments::Arguments;
use crate::cli::error::CliError;
use crate::records::store::Store;
use crate::shop::clock::EdgeClock;
use crate::shop::folder::ShopFolder;
use crate::shop::settings::Settings;
use crate::shop::station;

/// From the arguments, the environment and where one stands.
pub fn find(arguments: &Arguments) -> Result<Settings, CliError> {
    let here = std::env::current_dir()?;
    let shop = ShopFolder::find(arguments.shop.as_deref(), &here)?;
    let records = match &arguments.records {
        Some(folder) => folder.clone(),
        None => shop.root.as_deref().unwrap_or(&here).join("records"),
    };
    let clock = EdgeClock::from_environment().map_err(CliError::usage)?;
    Ok(Settings { shop, store: Store::new(records), clock, station: station::here()? })
}
