//! What is kept of proofs: a file for each procedure in the shop's folder `proofs`. Without a shop nothing is kept, since there is
//! no folder whose procedures it could be about.

use crate::circuit::meter::bench_meter;
use crate::model::clean::Clean;
use crate::model::format::{BEHAVIOR, PROGRAM};
use crate::model::proof::kept::{Basis, FORMAT, KeptProofs, KeptResult, Standing};
use crate::model::source::SourceKind;
use crate::records::bounded;
use crate::records::digest::{digest, is_digest};
use crate::records::whole_file;
use crate::script::diagnose::Source;
use crate::script::header::Header;
use crate::shop::error::ShopError;
use crate::shop::folder::ShopFolder;
use crate::shop::loaded::Loaded;
use crate::shop::settings::Settings;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The folder in the shop's.
const FOLDER: &str = "proofs";
/// The largest kept file, in bytes: more than the most results with the most limits take.
const LARGEST: u64 = 256 * 1024;
/// Why a file is left as it is: it may say what this program can't read.
const NEWER: &str = "a newer Ohmwright wrote it";

/// What is kept of a procedure's proofs, and what is wrong with it.
pub struct Known {
    /// What it says.
    pub standing: Standing,
    /// A sentence about a file that can't be used, without its full stop.
    pub problem: Option<String>,
}

/// Where a procedure's result belongs, and what it depends on. It is taken before a proof begins: files may be edited while it goes on.
pub struct Place {
    path: PathBuf,
    basis: Basis,
}

/// What the kept proofs say of a procedure as it was taken up.
pub fn of(settings: &Settings, loaded: &Loaded) -> Known {
    let basis = basis_of(loaded);
    known(&settings.shop, &loaded.procedure.name, basis.as_ref())
}

/// The same of a procedure of which only the header was read.
pub fn of_file(settings: &Settings, name: &str, source: &Source, header: &Header) -> Known {
    let shop = &settings.shop;
    let circuit = header.circuit.as_ref().and_then(|circuit| shop.circuit(circuit).ok());
    let library = |name: &String| Some((name.clone(), digest(shop.library(name)?.text.as_bytes())));
    let basis = circuit.and_then(|(_, circuit)| {
        let libraries = header.uses.iter().map(library).collect::<Option<_>>()?;
        Some(basis(digest(source.text.as_bytes()), libraries, digest(circuit.text.as_bytes())))
    });
    known(shop, name, basis.as_ref())
}

/// Where the result of a proof on this circuit is to be kept.
///
/// # Errors
/// It is not to be kept: why, without a full stop; nothing where there is no shop.
pub fn place(settings: &Settings, loaded: &Loaded, circuit: &Source) -> Result<Place, Option<String>> {
    let Some(root) = &settings.shop.root else { return Err(None) };
    let (name, basis) = (&loaded.procedure.name, basis_of(loaded));
    // A file that lies elsewhere may have the name of one of the shop's, and is not that one.
    let listed = settings.shop.procedure(name).ok().map(|(_, source)| source.text);
    if listed.as_ref() != Some(&loaded.procedure.source.text) {
        return Err(Some(format!("`ohmwright list` shows no such procedure `{}`", Clean::name(name))));
    }
    match basis {
        Some(basis) if basis.circuit == digest(circuit.text.as_bytes()) => Ok(Place { path: path(root, name), basis }),
        _ => Err(Some("it was not proven on the circuit that its header names".to_owned())),
    }
}

impl Place {
    /// Keeps a result beside those of the same basis. Other processes wait, so that none of their results is lost.
    ///
    /// # Errors
    /// The shop's folder can't be written.
    pub fn keep(self, result: KeptResult) -> Result<(), ShopError> {
        let folder = self.path.parent().unwrap_or(Path::new("."));
        fs_err::create_dir_all(folder)?;
        let lock = fs_err::OpenOptions::new().create(true).truncate(false).write(true).open(folder.join(".lock"))?;
        lock.file().lock()?;
        let before = match read(&self.path) {
            Ok(before) => before,
            Err(why) if why == NEWER => return Err(ShopError::Files(format!("{}: {why}", self.path.display()))),
            // A file that can't be used says nothing, and is written anew.
            Err(_) => None,
        };
        let kept = KeptProofs::with(before, self.basis, result);
        let json = serde_json::to_string_pretty(&kept).map_err(|error| ShopError::Files(error.to_string()))?;
        let mut file = whole_file::begin(folder, ".proof-", true)?;
        file.write_all(json.as_bytes())?;
        file.write_all(b"\n")?;
        file.as_file().sync_all()?;
        file.persist(&self.path)
            .map_err(|error| ShopError::Files(format!("{}: {}", self.path.display(), error.error)))?;
        drop(lock);
        Ok(())
    }
}

fn path(root: &Path, name: &str) -> PathBuf {
    root.join(FOLDER).join(format!("{name}.json"))
}

fn known(shop: &ShopFolder, name: &str, basis: Option<&Basis>) -> Known {
    let nothing = |problem| Known { standing: Standing::NotProven, problem };
    let Some(root) = shop.root.as_ref().filter(|_| shop.procedure(name).is_ok()) else { return nothing(None) };
    match read(&path(root, name)) {
        Ok(Some(kept)) => {
            // A procedure whose circuit or library is gone can't be as it was.
            let missing = || Standing::Changed(vec!["a file that it needs".to_owned()]);
            Known { standing: basis.map_or_else(missing, |basis| kept.standing(basis)), problem: None }
        }
        Ok(None) => nothing(None),
        Err(why) => {
            let name = Clean::name(name);
            let advice = match why == NEWER {
                true => String::new(),
                false => format!(": `ohmwright prove {name}` writes it anew"),
            };
            nothing(Some(format!("{FOLDER}/{name}.json is left out, since {why}{advice}")))
        }
    }
}

/// A kept file; nothing where there is none.
fn read(path: &Path) -> Result<Option<KeptProofs>, String> {
    match fs_err::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        // Of what is no file, such as a pipe, nothing is read: it may have no end.
        Ok(found) if !found.is_file() => return Err("it is not a file".to_owned()),
        _ => {}
    }
    let bytes = bounded::read(path, LARGEST).map_err(|_| "it can't be read".to_owned())?;
    let bytes = bytes.ok_or_else(|| format!("it is longer than {} KB", LARGEST / 1024))?;
    let kept: KeptProofs = serde_json::from_slice(&bytes).map_err(|_| "it is not as Ohmwright writes it".to_owned())?;
    match kept.format {
        FORMAT if is_whole(&kept) => Ok(Some(kept)),
        newer if newer > FORMAT => Err(NEWER.to_owned()),
        _ => Err("it is not as Ohmwright writes it".to_owned()),
    }
}

/// Whether everything in it is what a proof can have come to.
fn is_whole(kept: &KeptProofs) -> bool {
    let Basis { procedure, libraries, circuit, meter, .. } = &kept.basis;
    !kept.results.is_empty()
        && kept.results.iter().all(|result| result.vehicles > 0)
        && [procedure, circuit, meter].into_iter().chain(libraries.values()).all(|text| is_digest(text))
}

/// What a proof of this procedure depends on; nothing where it names no circuit.
fn basis_of(loaded: &Loaded) -> Option<Basis> {
    let (mut procedure, mut circuit, mut libraries) = (None, None, BTreeMap::new());
    for (kind, name, digest) in loaded.digests() {
        match kind {
            SourceKind::Procedure => procedure = Some(digest),
            SourceKind::Library => _ = libraries.insert(name, digest),
            SourceKind::Circuit => circuit = Some(digest),
            // A proof tells no cautions, and has a meter of its own.
            SourceKind::Cautions | SourceKind::Meter | SourceKind::People => {}
        }
    }
    Some(basis(procedure?, libraries, circuit?))
}

fn basis(procedure: String, libraries: BTreeMap<String, String>, circuit: String) -> Basis {
    // What can't be written down has no digest that a kept one could be equal to.
    let meter = toml::to_string(&bench_meter()).map(|text| digest(text.as_bytes())).unwrap_or_default();
    Basis { program: PROGRAM.to_owned(), behavior: BEHAVIOR, procedure, libraries, circuit, meter }
}
