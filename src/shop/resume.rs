//! How a run goes on.

use crate::circuit::bench::Bench;
use crate::model::event::{SourceKind, Started};
use crate::records::store::Store;
use crate::script::diagnose::Source;
use crate::shop::circuits;
use crate::shop::error::ShopError;
use crate::shop::loaded::Loaded;
use crate::shop::settings::Settings;
use crate::shop::simulated::Simulated;
use std::path::Path;
use std::sync::Arc;

/// The same circuit with the same faults in it, from the kept copy.
pub fn bench(store: &Store, started: &Started, simulated: &Simulated) -> Result<Bench, ShopError> {
    let source = started
        .sources
        .iter()
        .find(|source| source.kind == SourceKind::Circuit)
        .ok_or_else(|| ShopError::refused("the record keeps no circuit"))?;
    let source = Source { file: source.name.clone(), text: store.kept(source)? };
    let circuit = Arc::new(circuits::parse(&source)?);
    circuits::faults(&circuit, &simulated.faults)?;
    simulated.bench(circuit).map_err(|error| ShopError::refused(format!("{}: {error}", simulated.circuit)))
}

/// How the procedure is now, against what a run was begun with.
pub enum Now {
    /// As it was.
    Same,
    /// A file of it was moved or deleted, or can't be read: which, and what is with it.
    Gone(String),
    /// Edited: as it is now, and which file of it.
    Edited(Result<Box<Loaded>, ShopError>, &'static str),
}

/// What is with a file that can't be had.
fn gone(what: &str, error: &ShopError) -> String {
    match error {
        ShopError::NoSuchFile { .. } => format!("{what} is no longer there"),
        other => format!("{what} can't be read ({other})"),
    }
}

/// Looks for what was edited, moved or deleted since the run began.
pub fn now(settings: &Settings, started: &Started, kept: &Loaded) -> Now {
    let of_kind = |kind: SourceKind| started.sources.iter().filter(move |source| source.kind == kind);
    let Some(procedure) = of_kind(SourceKind::Procedure).next() else { return Now::Same };
    // Under the shop's or the program's name, or by the path that it was given with.
    let by_path = Path::new(&procedure.name).is_file();
    let given = if by_path { procedure.name.clone() } else { started.procedure.clone() };
    if let Err(error) = settings.shop.procedure(&given) {
        return Now::Gone(gone(&format!("The procedure {}", procedure.name), &error));
    }
    let mut now = match Loaded::find(settings, &given) {
        Ok(now) => now,
        Err(error) => {
            let library = of_kind(SourceKind::Library).find(|source| settings.shop.library(&source.name).is_none());
            let circuit = of_kind(SourceKind::Circuit)
                .find_map(|source| settings.shop.circuit(&source.name).err().map(|error| (source, error)));
            return match (library, circuit) {
                (Some(library), _) => Now::Gone(format!("The library file {} is no longer there", library.name)),
                (None, Some((circuit, error))) => Now::Gone(gone(&format!("The circuit {}", circuit.name), &error)),
                (None, None) => Now::Edited(Err(error), "procedure"),
            };
        }
    };
    // A simulated circuit need not be the one that the procedure names.
    if let Some(bench) = &started.bench {
        match circuits::find(settings, bench) {
            Ok((name, source, circuit)) => now.use_circuit(&name, source, &circuit),
            Err(_) => now.use_circuit_of(kept),
        }
    }
    let digests = |loaded: &Loaded| -> Vec<(SourceKind, String)> {
        loaded.digests().into_iter().map(|(kind, _, sha256)| (kind, sha256)).collect()
    };
    let (before, after) = (digests(kept), digests(&now));
    let changed = |kind: SourceKind| {
        let of = |list: &[(SourceKind, String)]| -> Vec<String> {
            list.iter().filter(|(found, _)| *found == kind).map(|(_, sha256)| sha256.clone()).collect()
        };
        of(&before) != of(&after)
    };
    let what = if changed(SourceKind::Procedure) {
        "procedure"
    } else if changed(SourceKind::Library) {
        "library file"
    } else if changed(SourceKind::Circuit) {
        "circuit"
    } else {
        return Now::Same;
    };
    Now::Edited(Ok(Box::new(now)), what)
}
