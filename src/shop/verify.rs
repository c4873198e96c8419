//! Which records are checked, and by whose list of people.

use crate::records::pack;
use crate::records::store::{JOURNAL, Store};
use crate::shop::error::ShopError;
use crate::shop::examine::ListHere;
use crate::shop::settings::Settings;
use std::path::{Path, PathBuf};

/// A record to look at.
pub struct Target {
    /// The record's name.
    pub name: String,
    /// Its folder.
    pub path: PathBuf,
    /// Where a pack was unpacked; goes away with it.
    pub unpacked: Option<tempfile::TempDir>,
}

/// A record by name or folder, a folder of records, or a pack.
pub fn find(settings: &Settings, given: &str, targets: &mut Vec<Target>) -> Result<(), ShopError> {
    let path = Path::new(given);
    let named = !given.contains('/') && settings.store.folder().join(given).join(JOURNAL).is_file();
    if !named && path.is_file() {
        let unpacked = tempfile::Builder::new().prefix("ohmwright-").tempdir()?;
        let name = pack::unpack(path, unpacked.path())?;
        targets.push(Target { path: unpacked.path().join(&name), name, unpacked: Some(unpacked) });
        return Ok(());
    }
    if !named && path.is_dir() && !path.join(JOURNAL).is_file() {
        let store = Store::new(path.to_owned());
        let names = store.names()?;
        if names.is_empty() {
            return Err(ShopError::refused(format!("there are no records in {}", path.display())));
        }
        targets.extend(names.into_iter().map(|name| Target { path: path.join(&name), name, unpacked: None }));
        return Ok(());
    }
    let path = if !named && path.join(JOURNAL).is_file() { path.to_owned() } else { settings.store.path_of(given)? };
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or(given).to_owned();
    targets.push(Target { name, path, unpacked: None });
    Ok(())
}

/// The list of people here counts for the shop's own records, wherever they lie, and for those of others when it is asked
/// for.
pub fn shop_that_counts<'a>(settings: &'a Settings, given: bool, target: &Target) -> ListHere<'a> {
    let Some(root) = &settings.shop.root else { return ListHere::None };
    let shop = &settings.shop.shop;
    let inside = |folder: &Path| {
        let folder = folder.canonicalize().ok()?;
        target.path.canonicalize().ok().map(|path| path.starts_with(folder))
    };
    if given || inside(root).unwrap_or(false) || inside(settings.store.folder()).unwrap_or(false) {
        ListHere::Counts(shop)
    } else {
        ListHere::CountsForItsOwn(shop)
    }
}
