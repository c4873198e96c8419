//! `report`: a record as a page, as data, as text.

use super::arguments::{self, Form, Format};
use super::error::CliError;
use super::examine::{Kept, examine_bytes, integrity, sign_off_lines, store_of};
use super::exit::Exit;
use super::later::checks_of;
use super::output::Output;
use super::settings::Settings;
use super::store::{self, JOURNAL, Store, digest};
use crate::model::caution::CautionRules;
use crate::model::diagnostic;
use crate::model::event::{Link, SourceKind, SourceRef};
use crate::model::record::Record;
use crate::model::shop::Shop;
use crate::report::material::{Earlier, LinkState, Material, signal_words};
use crate::report::table::harmless;
use crate::report::{csv, html, json, text};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};

/// Writes a report.
pub fn report(settings: &Settings, arguments: &arguments::Report, output: &mut Output) -> Result<Exit, CliError> {
    if arguments.schema {
        return write(json::SCHEMA, arguments.out.as_deref().unwrap_or(Path::new("-")), output);
    }
    if arguments.form == Form::Customer && arguments.format != Format::Html {
        return Err(CliError::usage_with(
            "the customer's form is there as HTML only",
            "leave out --format, or take the full form",
        ));
    }
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.store.latest()?,
    };
    let shop = settings.shop.root.as_ref().map(|_| &settings.shop.shop);
    let material = material(&settings.store, &name, shop, output)?.without(&arguments.without);
    let written = match (arguments.format, arguments.form) {
        (Format::Html, Form::Full) => html::full::page(&material),
        (Format::Html, Form::Customer) => html::customer::page(&material),
        (Format::Json, _) => json::text(&material).map_err(|error| CliError::Files(error.to_string()))?,
        (Format::Csv, _) => csv::text(&material).map_err(|error| CliError::Files(error.to_string()))?,
        (Format::Text, _) => text::text(&material, output.width()),
    };
    let out = match (&arguments.out, arguments.format, arguments.form) {
        (Some(out), ..) => out.clone(),
        (None, Format::Html, Form::Full) => PathBuf::from(format!("{}.html", material.name)),
        (None, Format::Html, Form::Customer) => PathBuf::from(format!("{}-customer.html", material.name)),
        (None, ..) => PathBuf::from("-"),
    };
    write(&written, &out, output)
}

fn write(text: &str, out: &Path, output: &mut Output) -> Result<Exit, CliError> {
    if out == Path::new("-") {
        output.text(text);
        return Ok(Exit::Done);
    }
    if out.file_name().is_some_and(|name| name == JOURNAL) {
        return Err(CliError::usage_with(
            format!("{} is a record's journal, and no report goes there", out.display()),
            "name another file",
        ));
    }
    fs_err::write(out, text)?;
    output.line(&format!("Report: {}", out.display()));
    Ok(Exit::Done)
}

/// The record with what was kept beside it. What can't be read is said and left out.
pub fn material(store: &Store, name: &str, shop: Option<&Shop>, output: &mut Output) -> Result<Material, CliError> {
    let plain_name = Path::new(name).file_name().map_or_else(|| name.to_owned(), |name| name.to_string_lossy().into());
    let folder = store.path_of(name)?;
    let path = folder.join(JOURNAL);
    let bytes = fs_err::read(&path)?;
    let known = Kept::default();
    let found = examine_bytes(&bytes, &store_of(&folder), &plain_name, shop, &known);
    // Refused here where another version wrote it.
    let back = store::parse(&path, bytes.clone())?;
    if back.entries.is_empty() {
        return Err(CliError::usage(format!("{name} was broken off before anything was recorded")));
    }
    let folded = Record::of(&back.entries).map_err(|error| CliError::usage(format!("{name}: {error}")))?;
    let checks = checks_of(&store_of(&folder), &plain_name, &bytes, output)?;
    let sources = &folded.started.sources;
    let shop: Option<Shop> = kept(store, sources, SourceKind::People, output);
    let (shop_name, shop_address) =
        shop.as_ref().map(|shop| (shop.name.clone(), shop.address.clone())).unwrap_or_default();
    let rules = match known.rules(store, &folded.started) {
        Some(rules) => CautionRules::clone(&rules),
        None => kept(store, sources, SourceKind::Cautions, output).unwrap_or_default(),
    };
    let meter = kept(store, sources, SourceKind::Meter, output);
    let titled: Option<Titled> = kept(store, sources, SourceKind::Circuit, output);
    let earlier = match &folded.started.link {
        Some(link) => earlier(store, link, output),
        None => None,
    };
    Ok(Material {
        name: plain_name,
        signal_words: signal_words(&back.entries),
        journal_sha256: back.sha256(),
        torn: back.torn,
        shop_name,
        shop_address,
        circuit: titled.map(|titled| titled.title),
        points: known.points(store, &folded.started),
        rules,
        meter,
        earlier,
        checks,
        signoffs: sign_off_lines(&found),
        integrity: integrity(&found),
        withheld: Vec::new(),
        record: folded,
    })
}

/// What a report says of a circuit.
#[derive(Deserialize)]
struct Titled {
    title: String,
}

/// The kept copy of a source, read; `None` where there is none, or it can't be read, which is said.
fn kept<T: DeserializeOwned>(store: &Store, sources: &[SourceRef], kind: SourceKind, output: &mut Output) -> Option<T> {
    let source = sources.iter().find(|source| source.kind == kind)?;
    let read = store.kept(source).and_then(|text| {
        toml::from_str(&text).map_err(|error| CliError::input(diagnostic::of_toml(&source.name, &text, &error)))
    });
    read.map_err(|error| {
        output.note(&format!("note: the report goes without the kept copy of {}: {error}", harmless(&source.name)));
    })
    .ok()
}

/// The record that a link names, held against the link's digest; `None` where it can't be read, which is said.
fn earlier(store: &Store, link: &Link, output: &mut Output) -> Option<Earlier> {
    let read = || -> Result<Earlier, CliError> {
        let path = store.path_of(&link.record)?.join(JOURNAL);
        let bytes = fs_err::read(&path)?;
        let back = store::parse(&path, bytes.clone())?;
        let record = Record::of(&back.entries).map_err(|error| CliError::file(&path, error))?;
        let meter = match record.started.sources.iter().find(|source| source.kind == SourceKind::Meter) {
            Some(source) => toml::from_str(&store.kept(source)?).ok(),
            None => None,
        };
        Ok(Earlier { name: link.record.clone(), meter, state: state(&bytes, link), record })
    };
    read()
        .map_err(|error| {
            output.note(&format!("note: the report goes without {}: {error}", harmless(&link.record)));
        })
        .ok()
}

/// Whether a journal is what it was when a link to it was made, or begins with that.
pub fn state(bytes: &[u8], link: &Link) -> LinkState {
    if digest(bytes) == link.sha256 {
        return LinkState::Same;
    }
    let mut hasher = Sha256::new();
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        hasher.update(line);
        let so_far: String = hasher.clone().finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        if so_far == link.sha256 {
            return LinkState::Continued;
        }
    }
    LinkState::Changed
}
