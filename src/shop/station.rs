//! Which computer this is, as its records say it, and the ids that are drawn here.

use crate::model::diagnostic;
use crate::model::id::RecordId;
use crate::model::started::Station;
use crate::shop::error::ShopError;
use crate::shop::text_file;
use etcetera::BaseStrategy;
use serde::Deserialize;
use sha2::{Digest, Sha256};
use ssh_key::rand_core::{OsRng, RngCore};
use std::path::PathBuf;

/// The environment variable that names the station, over what the user's settings say.
pub const VARIABLE: &str = "OHMWRIGHT_STATION";

/// What a user sets for this computer, in `ohmwright/user.toml` in the folder for settings.
#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct UserSettings {
    /// The name of this place in records.
    station: Option<String>,
}

/// The user's settings file; none where there is no home folder.
fn settings_file() -> Option<PathBuf> {
    Some(etcetera::choose_base_strategy().ok()?.config_dir().join("ohmwright").join("user.toml"))
}

/// This station: as the environment says, else the user's settings, else the computer's own name.
///
/// # Errors
/// The user's settings can't be read, or the name that somebody chose has no letter or digit in it.
pub fn here() -> Result<Option<Station>, ShopError> {
    if let Some(name) = std::env::var_os(VARIABLE) {
        return chosen(VARIABLE, &name.to_string_lossy()).map(Some);
    }
    if let Some(file) = settings_file().filter(|file| file.exists()) {
        let text = text_file::read(&file)?;
        let settings: UserSettings = toml::from_str(&text)
            .map_err(|error| ShopError::input(diagnostic::of_toml(&file.display().to_string(), &text, &error)))?;
        if let Some(name) = settings.station {
            return chosen(&file.display().to_string(), &name).map(Some);
        }
    }
    Ok(Station::of(&gethostname::gethostname().to_string_lossy()))
}

fn chosen(place: &str, name: &str) -> Result<Station, ShopError> {
    Station::of(name).ok_or_else(|| {
        ShopError::refused_with(
            format!("{place}: the station's name has no letter or digit in it"),
            "name the place as people here call it, such as \"Bay 2\"",
        )
    })
}

/// An id for a new record. One whose clock is set by hand is always the same for a folder's name.
pub fn record_id(folder: &str, clock_set_by_hand: bool) -> RecordId {
    let mut bits = [0; 16];
    if clock_set_by_hand {
        bits.copy_from_slice(&Sha256::digest(folder.as_bytes())[..16]);
    } else {
        OsRng.fill_bytes(&mut bits);
    }
    RecordId::new(u128::from_be_bytes(bits))
}
