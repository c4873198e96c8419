//! The files built into Ohmwright: procedures, circuits, library files, cautions.

use include_dir::{Dir, include_dir};

static PROCEDURES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/procedures");
static STDLIB: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/stdlib");

/// A procedure by name: file name and text.
pub fn procedure(name: &str) -> Option<(String, &'static str)> {
    file(&PROCEDURES, &format!("{name}.rhai")).map(|text| (format!("procedures/{name}.rhai"), text))
}

/// A circuit by name: file name and text.
pub fn circuit(name: &str) -> Option<(String, &'static str)> {
    file(&PROCEDURES, &format!("circuits/{name}.toml")).map(|text| (format!("procedures/circuits/{name}.toml"), text))
}

/// A library file by name: file name and text.
pub fn library(name: &str) -> Option<(String, &'static str)> {
    file(&STDLIB, &format!("{name}.rhai")).map(|text| (format!("stdlib/{name}.rhai"), text))
}

/// The library's caution rules: file name and text.
pub fn cautions() -> (&'static str, &'static str) {
    ("stdlib/cautions.toml", file(&STDLIB, "cautions.toml").unwrap_or_default())
}

/// Names of the procedures.
pub fn procedure_names() -> Vec<String> {
    names(PROCEDURES.files(), "rhai")
}

/// Names of the circuits.
pub fn circuit_names() -> Vec<String> {
    PROCEDURES.get_dir("circuits").map(|dir| names(dir.files(), "toml")).unwrap_or_default()
}

fn names<'a>(files: impl Iterator<Item = &'a include_dir::File<'a>>, ending: &str) -> Vec<String> {
    let mut names: Vec<_> = files
        .filter(|file| file.path().extension().is_some_and(|found| found == ending))
        .filter_map(|file| file.path().file_stem()?.to_str().map(str::to_owned))
        .collect();
    names.sort();
    names
}

fn file(dir: &'static Dir<'static>, path: &str) -> Option<&'static str> {
    dir.get_file(path)?.contents_utf8()
}
