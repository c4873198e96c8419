//! Records that are checked: which, by whose list of people, and what is found.

use crate::records::digest::is_digest;
use crate::records::error::RecordsError;
use crate::records::numbers::is_number;
use crate::records::pack;
use crate::records::store::{JOURNAL, Store};
use crate::shop::error::ShopError;
use crate::shop::examine::{Examination, Kept, ListHere, examine};
use crate::shop::settings::Settings;
use crate::shop::workers::workers;
use rayon::prelude::*;
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

/// The records that are meant, by name, folder or pack; the one that was written to last where none is given.
pub fn targets(settings: &Settings, given: &[String]) -> Result<Vec<Target>, ShopError> {
    let mut targets = Vec::new();
    if given.is_empty() {
        let name = settings.latest()?;
        targets.push(Target { path: settings.store.path_of(&name)?, name, unpacked: None });
    }
    let among_others = given.len() > 1;
    for given in given {
        if among_others && is_beside_records(Path::new(given)) {
            continue;
        }
        find(settings, given, &mut targets)?;
    }
    if targets.is_empty() {
        return Err(ShopError::refused_with(
            "none of what was named is a record",
            "name records, folders of records, or packs",
        ));
    }
    Ok(targets)
}

/// Looks at records, with what they have in common kept.
pub struct Looker<'a> {
    settings: &'a Settings,
    /// Whether the shop was named, so that its list counts for every record.
    shop_given: bool,
    kept: Kept,
}

impl<'a> Looker<'a> {
    /// In a shop.
    pub fn new(settings: &'a Settings, shop_given: bool) -> Self {
        Self { settings, shop_given, kept: Kept::default() }
    }

    /// Everything that can be checked about a record.
    pub fn look(&self, target: &Target) -> Result<Examination, RecordsError> {
        let shop = shop_that_counts(self.settings, self.shop_given, target);
        match examine(&target.path, &target.name, shop, &self.kept) {
            // One such record among many does not keep the others from being checked.
            Err(RecordsError::TooLarge { sentence, .. }) => Ok(Examination::unread(&target.name, sentence)),
            found => found,
        }
    }

    /// The same of many, side by side; of each only what is made of it is kept.
    pub fn look_at_all<T: Send>(
        &self,
        targets: &[Target],
        made_of_it: impl Fn(Examination) -> T + Sync,
    ) -> Result<Vec<T>, ShopError> {
        let look = |target: &Target| self.look(target).map(&made_of_it);
        let looked_at: Vec<Result<T, RecordsError>> = match targets {
            [one] => vec![look(one)],
            _ => workers()?.install(|| targets.par_iter().map(look).collect()),
        };
        Ok(looked_at.into_iter().collect::<Result<_, _>>()?)
    }
}

/// What lies in a folder of records and is none, so that `FOLDER/*` names it, too: kept sources, summaries, locks, pointers.
fn is_beside_records(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    if path.is_dir() {
        let is_source = |entry: std::io::Result<fs_err::DirEntry>| {
            entry.is_ok_and(|entry| {
                entry.file_name().to_str().is_some_and(|name| is_digest(name) || name.starts_with('.'))
            })
        };
        return name == "sources" && fs_err::read_dir(path).is_ok_and(|mut entries| entries.all(is_source));
    }
    path.is_file() && (name.starts_with('.') || name.ends_with("-summary.csv"))
}

/// A record by name or folder, a folder of records, or a pack.
fn find(settings: &Settings, given: &str, targets: &mut Vec<Target>) -> Result<(), ShopError> {
    let path = Path::new(given);
    let named = is_number(given) || !given.contains('/') && settings.store.folder().join(given).join(JOURNAL).is_file();
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
fn shop_that_counts<'a>(settings: &'a Settings, given: bool, target: &Target) -> ListHere<'a> {
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
