//! What a report is written from: the record, what was kept beside it, and the records that it is linked with.

use crate::model::clean::Clean;
use crate::model::diagnostic;
use crate::model::limits::Verdict;
use crate::model::link::Link;
use crate::model::prompt::Answer;
use crate::model::record::Record;
use crate::model::shop::Shop;
use crate::model::source::{SourceKind, SourceRef};
use crate::records::digest::digest;
use crate::records::error::RecordsError;
use crate::records::journal_file::parse;
use crate::records::links::{LinkedRecord, checks_of, earlier};
use crate::records::numbers;
use crate::records::store::Store;
use crate::report::decisive::AskedAbout;
use crate::report::material::{Earlier, Integrity, Later, Material, signal_words};
use crate::run::answerer::MeterInUse;
use crate::run::meaning::meaning;
use crate::shop::circuits;
use crate::shop::error::ShopError;
use crate::shop::examine::{Judged, Kept, ListHere, examine_bytes, integrity, sign_off_lines};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::sync::Arc;

/// A check after the repair, as a report has it.
fn later(check: LinkedRecord) -> Later {
    let LinkedRecord { name, record, journal_sha256, state, .. } = check;
    Later { name, journal_sha256, record, state }
}

/// The record that a record came out of, as a report has it.
fn before(store: &Store, link: &Link) -> Result<Earlier, RecordsError> {
    let LinkedRecord { name, record, state, store, .. } = earlier(store, link)?;
    let meter = match record.started.sources.iter().find(|source| source.kind == SourceKind::Meter) {
        Some(source) => toml::from_str(&store.kept(source)?).ok(),
        None => None,
    };
    Ok(Earlier { name, record, meter, state })
}

/// The record with what was kept beside it, `judged` again or only held against its signatures; and what can't be read and
/// is left out.
pub fn material(
    store: &Store,
    name: &str,
    shop: Option<&Shop>,
    judged: bool,
) -> Result<(Material, Vec<String>), ShopError> {
    let mut left_out = Vec::new();
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
    let checks = checks_of((store, here), &found.name, &folded, &found.bytes)?;
    for (check, error) in &checks.unreadable {
        left_out.push(format!("the check {}: {error}", Clean::name(check)));
    }
    let checks = checks.found.into_iter().map(later).collect();
    let sources = &folded.started.sources;
    let shop: Option<Shop> = kept(store, sources, SourceKind::People, &mut left_out);
    let (shop_name, shop_address) =
        shop.as_ref().map(|shop| (shop.name.clone(), shop.address.clone())).unwrap_or_default();
    let loaded = known.and_then(|known| known.of(store, &folded.started));
    let points = match &loaded {
        Some(loaded) => loaded.points.clone(),
        None => circuits::kept_points(store, sources).map(Arc::new),
    };
    let rules = match loaded {
        Some(loaded) => Arc::clone(&loaded.rules),
        None => Arc::new(kept(store, sources, SourceKind::Cautions, &mut left_out).unwrap_or_default()),
    };
    let meter = kept(store, sources, SourceKind::Meter, &mut left_out);
    let titled: Option<Titled> = kept(store, sources, SourceKind::Circuit, &mut left_out);
    let earlier = folded.started.link.as_ref().and_then(|link| {
        before(store, link).map_err(|error| left_out.push(format!("{}: {error}", Clean::name(&link.record)))).ok()
    });
    let torn = examined.chain.torn;
    let mut integrity = integrity(&examined);
    if !judged && integrity == Integrity::Whole && !verdicts_fit(&folded) {
        integrity = Integrity::Doubtful;
    }
    let material = Material {
        signal_words: signal_words(&entries),
        journal_sha256: digest(&found.bytes[..found.bytes.len() - torn]),
        torn,
        shop_name,
        shop_address,
        is_example: titled.as_ref().is_some_and(|titled| titled.example),
        circuit: titled.map(|titled| titled.title),
        rules,
        meter,
        points,
        earlier,
        checks,
        signoffs: sign_off_lines(&examined),
        asked_about: asked_about(&examined.judged),
        integrity,
        withheld: Vec::new(),
        record: folded,
        number: if store.folder() == here.folder() { numbers::number_of(here.folder(), &found.name) } else { None },
        name: found.name,
    };
    Ok((material, left_out))
}

/// The answers that the procedure asked about when the record was judged again.
fn asked_about(judged: &Judged) -> Option<AskedAbout> {
    let Judged::Same(same) = judged else { return None };
    Some(AskedAbout { before: same.asked_about.before().to_vec(), last: same.asked_about.last().to_vec() })
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
    #[serde(default)]
    example: bool,
}

/// The kept copy of a source, read; `None` where there is none, or it can't be read, which is said.
fn kept<T: DeserializeOwned>(
    store: &Store,
    sources: &[SourceRef],
    kind: SourceKind,
    left_out: &mut Vec<String>,
) -> Option<T> {
    let source = sources.iter().find(|source| source.kind == kind)?;
    let read = store.kept(source).map_err(ShopError::from).and_then(|text| {
        toml::from_str(&text).map_err(|error| ShopError::input(diagnostic::of_toml(&source.name, &text, &error)))
    });
    read.map_err(|error| left_out.push(format!("the kept copy of {}: {error}", Clean::name(&source.name)))).ok()
}
