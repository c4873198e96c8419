//! `report`: a record as a page, as data, as text.

use crate::cli::arguments::{self, Form, Format};
use crate::cli::commands::circuits;
use crate::cli::digest::digest;
use crate::cli::error::CliError;
use crate::cli::examine::{Kept, ListHere, examine_bytes, integrity, sign_off_lines};
use crate::cli::exit::Exit;
use crate::cli::journal_file::parse;
use crate::cli::links::{checks_of, earlier};
use crate::cli::settings::Settings;
use crate::cli::store::{JOURNAL, Store};
use crate::cli::terminal::output::Output;
use crate::model::diagnostic;
use crate::model::limits::Verdict;
use crate::model::prompt::Answer;
use crate::model::record::Record;
use crate::model::shop::Shop;
use crate::model::source::{SourceKind, SourceRef};
use crate::report::material::{Integrity, Material, signal_words};
use crate::report::table::harmless;
use crate::report::{csv, html, json, text};
use crate::run::answerer::MeterInUse;
use crate::run::meaning::meaning;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
    let material = material(&settings.store, &name, shop, true, output)?.without(&arguments.without);
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

/// The record with what was kept beside it, `judged` again or only held against its signatures. What can't be read is said
/// and left out.
pub fn material(
    store: &Store,
    name: &str,
    shop: Option<&Shop>,
    judged: bool,
    output: &mut Output,
) -> Result<Material, CliError> {
    let found = store.find(name)?;
    let (here, store) = (store, &found.store);
    let known = judged.then(Kept::default);
    let list = shop.map_or(ListHere::None, ListHere::Counts);
    let examined = examine_bytes(&found.bytes, store, &found.name, list, known.as_ref());
    let entries = match &examined.entries {
        Some(entries) => Arc::clone(entries),
        // Says what is wrong with its lines, as that another version wrote them.
        None => Arc::new(parse(&found.journal, found.bytes.clone())?.entries),
    };
    let folded = found.record(&entries)?;
    let checks = checks_of((store, here), &found.name, &folded, &found.bytes, output)?;
    let sources = &folded.started.sources;
    let shop: Option<Shop> = kept(store, sources, SourceKind::People, output);
    let (shop_name, shop_address) =
        shop.as_ref().map(|shop| (shop.name.clone(), shop.address.clone())).unwrap_or_default();
    let loaded = known.and_then(|known| known.of(store, &folded.started));
    let points = match &loaded {
        Some(loaded) => loaded.points.clone(),
        None => circuits::kept_points(store, sources).map(Arc::new),
    };
    let rules = match loaded {
        Some(loaded) => Arc::clone(&loaded.rules),
        None => Arc::new(kept(store, sources, SourceKind::Cautions, output).unwrap_or_default()),
    };
    let meter = kept(store, sources, SourceKind::Meter, output);
    let titled: Option<Titled> = kept(store, sources, SourceKind::Circuit, output);
    let earlier = folded.started.link.as_ref().and_then(|link| earlier(store, link, output));
    let torn = examined.chain.torn;
    let mut integrity = integrity(&examined);
    if !judged && integrity == Integrity::Whole && !verdicts_fit(&folded) {
        integrity = Integrity::Doubtful;
    }
    Ok(Material {
        signal_words: signal_words(&entries),
        journal_sha256: digest(&found.bytes[..found.bytes.len() - torn]),
        torn,
        shop_name,
        shop_address,
        circuit: titled.map(|titled| titled.title),
        rules,
        meter,
        points,
        earlier,
        checks,
        signoffs: sign_off_lines(&examined),
        integrity,
        withheld: Vec::new(),
        record: folded,
        name: found.name,
    })
}

/// Whether every reading stands where its verdict says, as far as that can be told without following the procedure again.
fn verdicts_fit(record: &Record) -> bool {
    let unknown = MeterInUse::default();
    record.every_answer().filter(|answered| matches!(answered.answer, Answer::Reading { .. })).all(|answered| {
        let now = meaning(&answered.prompt, answered.answer.clone(), &unknown);
        let stands = |verdict: Option<Verdict>| verdict.map(|verdict| verdict.standing);
        now.is_ok_and(|now| stands(now.verdict) == stands(answered.verdict))
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
