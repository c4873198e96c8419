//! Everything that can be checked about a record: signatures, signers, kept sources, and the record judged again.

use crate::model::clean::Clean;
use crate::model::clean::look_alike::{look_alike, looks, spelled_out};
use crate::model::event::{Entry, Event};
use crate::model::record::{Record, RunStatus};
use crate::model::shop::Shop;
use crate::model::signoff::Statement;
use crate::model::source::{SourceKind, SourceRef};
use crate::model::stamp::Stamp;
use crate::model::started::Started;
use crate::model::words;
use crate::records::bounded;
use crate::records::chain::{Chain, Lines, SignOff};
use crate::records::error::RecordsError;
use crate::records::store::{JOURNAL, Store};
use crate::report::material::{Integrity, SignoffLine};
use crate::run::answerer::MeterInUse;
use crate::run::recorded_run::Difference;
use crate::script::judge::{Judge, Same};
use crate::shop::error::ShopError;
use crate::shop::first_line;
use crate::shop::loaded::Loaded;
use crate::shop::meters::kept_meter;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex};

/// What a record came to when it was judged again.
#[derive(Clone, Debug)]
pub enum Judged {
    /// The same.
    Same(Same),
    /// Something else.
    Differs(Difference),
    /// It could not be judged.
    Not,
}

/// How a record stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord)]
pub enum State {
    /// Signed to its last line, by those who have to, and nothing wrong.
    Good,
    /// As good as that, but by a list of people that it brought itself: its keys were not compared with those of this shop.
    OwnList,
    /// Nothing wrong, but not all of it is signed, or not by all who have to.
    Unsigned,
    /// A newer program wrote it, or went on with it: this one does not judge it.
    Newer,
    /// Something is wrong.
    Bad,
}

/// By whose list of people a sign-off was checked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ListUsed {
    /// The name of the shop whose list the record has a copy of; none where that can't be read.
    pub shop: Option<String>,
    /// Whether the key was compared with the list of this shop, too.
    pub compared: bool,
}

/// What was found out about a record.
pub struct Examination {
    /// Its name.
    pub name: String,
    /// Its sign-offs and what is wrong with its lines.
    pub chain: Chain,
    /// What else is wrong, in sentences.
    pub wrong: Vec<String>,
    /// What is still to be signed, in sentences.
    pub unsigned: Vec<String>,
    /// What is neither wrong nor missing, but to be known, in sentences.
    pub remarks: Vec<String>,
    /// Of each sign-off, by whose list of people it was checked.
    pub lists: Vec<ListUsed>,
    /// Whether there is a shop here, with whose list keys could be compared.
    pub in_a_shop: bool,
    /// Whether the result is the same again.
    pub judged: Judged,
    /// Of each sign-off, why its signer could not sign so, if they could not.
    pub refused: Vec<Option<String>>,
    /// Every source that it depends on.
    pub sources: Vec<SourceRef>,
    /// What was recorded, where every line can be read.
    pub entries: Option<Arc<Vec<Entry>>>,
}

impl Examination {
    /// In one word.
    pub fn state(&self) -> State {
        if !self.chain.is_whole() || !self.wrong.is_empty() {
            State::Bad
        } else if self.chain.newer.is_some() {
            State::Newer
        } else if !self.unsigned.is_empty() {
            State::Unsigned
        } else if self.in_a_shop && !self.is_compared() {
            State::OwnList
        } else {
            State::Good
        }
    }

    /// Whether the keys of all its sign-offs were compared with a list besides the record's own copy.
    pub fn is_compared(&self) -> bool {
        self.lists.iter().all(|list| list.compared)
    }

    /// Of a record that is not read, since it is larger than any.
    pub fn unread(name: &str, why: String) -> Self {
        let chain = Chain::default();
        let wrong = vec![why];
        Self { chain, wrong, ..Self::begin(name, false) }
    }

    fn begin(name: &str, in_a_shop: bool) -> Self {
        Self {
            name: name.to_owned(),
            chain: Chain::default(),
            wrong: vec![],
            unsigned: vec![],
            remarks: vec![],
            lists: vec![],
            in_a_shop,
            judged: Judged::Not,
            refused: vec![],
            sources: vec![],
            entries: None,
        }
    }

    /// Everything that is wrong, in sentences.
    pub fn findings(&self) -> Vec<String> {
        self.chain.problems.iter().map(ToString::to_string).chain(self.wrong.iter().cloned()).collect()
    }
}

/// Whether a record is what it was, as a report says it.
pub fn integrity(found: &Examination) -> Integrity {
    match found.state() {
        State::Bad if !found.chain.is_whole() => Integrity::Changed,
        State::Bad => Integrity::Doubtful,
        State::Good | State::OwnList | State::Unsigned | State::Newer => Integrity::Whole,
    }
}

/// The sign-offs of a record as a report shows them.
pub fn sign_off_lines(found: &Examination) -> Vec<SignoffLine> {
    let unsigned = found.chain.unsigned.len();
    let count = found.chain.sign_offs.len();
    let state = |index: usize, sign_off: &SignOff| match (&sign_off.holds, found.refused.get(index)) {
        (Err(broken), _) => (format!("does NOT hold: {broken}"), format!("does NOT hold: {broken}")),
        (Ok(()), Some(Some(refused))) => (format!("not one that counts: {refused}"), "not one that counts".to_owned()),
        (Ok(()), _) => {
            let behind = if index + 1 == count && unsigned > 0 {
                let lines = words::count(unsigned, "line after it is", "lines after it are");
                format!("; {lines} not signed")
            } else {
                String::new()
            };
            (format!("holds; key {}{behind}", sign_off.fingerprint), format!("holds{behind}"))
        }
    };
    let line = |(index, sign_off): (usize, &SignOff)| {
        let Statement { name, role, meaning, unfinished, .. } = &sign_off.statement;
        let unfinished = if *unfinished { " (unfinished)" } else { "" };
        let (state, nameless) = state(index, sign_off);
        SignoffLine {
            name: name.clone(),
            role: role.clone(),
            meaning: format!("{meaning}{unfinished}"),
            at: sign_off.at.clone(),
            state,
            nameless,
            holds: sign_off.holds.is_ok() && found.refused.get(index).is_none_or(Option::is_none),
            unsigned_behind: if index + 1 == count { unsigned } else { 0 },
        }
    };
    found.chain.sign_offs.iter().enumerate().map(line).collect()
}

type Key = Vec<(SourceKind, String, String)>;

/// No record depends on more sources: a procedure, its library files, its circuit and meter, a list of people a sign-off.
const MOST_SOURCES: usize = 500;

/// Procedures compiled once for all records that were run with the same copies.
#[derive(Default)]
pub struct Kept(Mutex<BTreeMap<Key, Arc<Loaded>>>);

impl Kept {
    /// What a record that was examined depends on, where all of it was kept.
    pub fn of(&self, store: &Store, started: &Started) -> Option<Arc<Loaded>> {
        self.get(store, started.name(), &started.sources).ok()
    }

    fn get(&self, store: &Store, procedure: &str, sources: &[SourceRef]) -> Result<Arc<Loaded>, ShopError> {
        let mut key: Key = sources
            .iter()
            .filter(|source| !matches!(source.kind, SourceKind::Meter | SourceKind::People))
            .map(|source| (source.kind, source.name.clone(), source.sha256.clone()))
            .collect();
        key.push((SourceKind::Procedure, procedure.to_owned(), String::new()));
        let known = self.0.lock().ok().and_then(|known| known.get(&key).cloned());
        if let Some(loaded) = known {
            return Ok(loaded);
        }
        let loaded = Arc::new(Loaded::kept(store, procedure, sources)?);
        if let Ok(mut known) = self.0.lock() {
            known.insert(key, Arc::clone(&loaded));
        }
        Ok(loaded)
    }
}

/// Whose list of people counts besides the record's own copy.
#[derive(Clone, Copy)]
pub enum ListHere<'a> {
    /// Nobody's.
    None,
    /// This shop's.
    Counts(&'a Shop),
    /// This shop's, for what was signed by a list of this shop's name.
    CountsForItsOwn(&'a Shop),
}

impl<'a> ListHere<'a> {
    const fn shop(self) -> Option<&'a Shop> {
        match self {
            Self::None => None,
            Self::Counts(shop) | Self::CountsForItsOwn(shop) => Some(shop),
        }
    }

    /// The list, for a statement that was made by another one.
    fn beside(self, own: &Shop) -> Option<&'a Shop> {
        match self {
            Self::None => None,
            Self::Counts(shop) => Some(shop),
            // A name that only looks like this shop's is held against this shop's list, too.
            Self::CountsForItsOwn(shop) => (looks(&own.name) == looks(&shop.name)).then_some(shop),
        }
    }
}

/// Examines the record in this folder; its kept sources lie beside it.
pub fn examine(path: &Path, name: &str, shop: ListHere<'_>, kept: &Kept) -> Result<Examination, RecordsError> {
    let bytes = bounded::journal(&path.join(JOURNAL))?;
    Ok(examine_bytes(&bytes, &Store::of(path), name, shop, Some(kept)))
}

/// Examines a journal's bytes; it is judged again where there is a place for what its judging needs.
pub fn examine_bytes(bytes: &[u8], store: &Store, name: &str, shop: ListHere<'_>, kept: Option<&Kept>) -> Examination {
    let lines = Lines::of(bytes);
    let chain = Chain::of(&lines);
    let mut found = Examination::begin(name, shop.shop().is_some());
    found.chain = chain;
    found.entries = lines.into_entries().map(Arc::new);
    if let Some(entries) = &found.entries
        && let Some(Event::Started(started)) = entries.first().map(|entry| &entry.event)
    {
        found.sources.clone_from(&started.sources);
    }
    for sign_off in &found.chain.sign_offs {
        let people = &sign_off.statement.people;
        if !found.sources.contains(people) {
            found.sources.push(people.clone());
        }
    }
    if found.sources.len() > MOST_SOURCES {
        found.sources.truncate(MOST_SOURCES);
        found.wrong.push(format!("it names more than {MOST_SOURCES} sources, and no record does"));
    }
    let missing: Vec<_> = found.sources.iter().filter_map(|source| source_problem(store, source)).collect();
    let all_kept = missing.is_empty();
    found.wrong.extend(missing);
    signers(&mut found, store, shop);
    if let Some(entries) = found.entries.clone() {
        again(&mut found, store, entries, kept.filter(|_| all_kept));
    }
    if let Some((line, newer)) = &found.chain.newer {
        found.unsigned.push(format!("from line {line} on: {newer}"));
    } else {
        not_signed(&mut found);
    }
    found
}

/// The meter that a record was made with, as it was on a day.
pub fn meter_on(store: &Store, started: &Started, day: Option<Date>) -> Arc<MeterInUse> {
    let meter = kept_meter(store, &started.sources, day.unwrap_or_default()).unwrap_or_default();
    Arc::new(match (meter.meter(), &started.simulated) {
        (Some(simulated), Some(_)) => MeterInUse::of_bench(simulated.clone()),
        _ => meter,
    })
}

/// What is wrong with the kept copy of a source, if anything is.
fn source_problem(store: &Store, source: &SourceRef) -> Option<String> {
    // A digest is a file's name here: it must look like one before a file is looked for.
    let plain = source.sha256.len() == 64 && source.sha256.bytes().all(|byte| byte.is_ascii_hexdigit());
    if !plain {
        return Some(format!("the digest of the {} {} is none", source.kind.in_words(), source.name));
    }
    let kind = source.kind.in_words();
    match store.kept(source) {
        Ok(_) => None,
        Err(RecordsError::Content(_) | RecordsError::CopyChanged { .. }) => {
            Some(format!("the kept copy of the {kind} {} was changed", source.name))
        }
        Err(RecordsError::Io(error)) if error.kind() == std::io::ErrorKind::NotFound => {
            Some(format!("the kept copy of the {kind} {} is missing ({})", source.name, source.sha256))
        }
        Err(RecordsError::TooLarge { sentence, .. }) => Some(sentence),
        Err(error) => Some(format!("the kept copy of the {kind} {} can't be read: {error}", source.name)),
    }
}

fn signers(found: &mut Examination, store: &Store, shop: ListHere<'_>) {
    for SignOff { line, at, statement, .. } in &found.chain.sign_offs {
        let mut list = ListUsed { shop: None, compared: false };
        let refused = match own_people(store, statement) {
            // Missing or changed: said among the sources, too.
            None => Some("the list of people that it names is not there".to_owned()),
            Some(Err(problem)) => Some(problem),
            Some(Ok(own)) => {
                let here = shop.beside(&own);
                list.compared = here.is_some();
                if let Some(here) = shop.shop().filter(|here| look_alike(&here.name, &own.name)) {
                    let (own, here) = (spelled_out(&own.name), spelled_out(&here.name));
                    let text = format!(
                        "suspicious: the list that the record brought is of a shop named `{own}`, which only looks like the name of this shop, `{here}`"
                    );
                    if !found.remarks.contains(&text) {
                        found.remarks.push(text);
                    }
                }
                list.shop = Some(own.name.clone());
                let by_own = own.allows(statement, at).map_err(|problem| problem.to_string());
                let by_here = || match here {
                    Some(shop) => shop
                        .allows(statement, at)
                        .map_err(|problem| format!("by the shop's list as it is here, {problem}")),
                    None => Ok(()),
                };
                by_own.and_then(|()| by_here()).err()
            }
        };
        if let Some(problem) = &refused {
            found.wrong.push(format!("line {line}, the sign-off of {}: {problem}", Clean::name(&statement.name)));
        }
        found.refused.push(refused);
        found.lists.push(list);
    }
}

/// What there is to say of somebody who signs as the one who performed it, and of whom the record says otherwise.
pub fn by_another(technician: Option<&str>, statement: &Statement) -> Option<String> {
    let technician = technician.filter(|technician| *technician != statement.name)?;
    statement.meaning.is_performed().then(|| {
        let (name, technician) = (Clean::name(&statement.name), Clean::name(technician));
        format!("{name} signed as {}, and the record's technician is {technician}", statement.meaning)
    })
}

fn own_people(store: &Store, statement: &Statement) -> Option<Result<Shop, String>> {
    if source_problem(store, &statement.people).is_some() {
        return None;
    }
    let text = store.kept(&statement.people).ok()?;
    Some(toml::from_str(&text).map_err(|error| format!("the kept copy of the shop's people: {}", error.message())))
}

/// Judges the record again, where everything that it depends on was `kept`.
fn again(found: &mut Examination, store: &Store, entries: Arc<Vec<Entry>>, kept: Option<&Kept>) {
    let Ok(record) = Record::of(&entries) else { return };
    let technician = record.started.job.technician.as_deref();
    found.remarks.extend(record.sign_offs.iter().filter_map(|sign_off| by_another(technician, &sign_off.statement)));
    if !record.sign_offs.is_empty() && !record.sign_offs.iter().any(|signed| signed.statement.meaning.is_performed()) {
        found.remarks.push("nobody signed it as performed".to_owned());
    }
    for sign_off in &record.sign_offs {
        found.remarks.extend(dated_before(&entries, sign_off.line, &sign_off.at, &sign_off.statement));
        let Ok(then) = Record::of(&entries[..sign_off.line - 1]) else { continue };
        let unfinished = !matches!(then.status, RunStatus::Concluded(_));
        if sign_off.statement.unfinished != unfinished {
            let is = if unfinished { "names no cause" } else { "names its cause" };
            found.wrong.push(format!(
                "line {}, the sign-off of {}: the record {is} there, and the statement says something else",
                sign_off.line,
                Clean::name(&sign_off.statement.name)
            ));
        }
    }
    let Some(kept) = kept else { return };
    let started = &record.started;
    let loaded = match kept.get(store, started.name(), &started.sources) {
        Ok(loaded) => loaded,
        Err(error) => {
            found.wrong.push(format!("the kept procedure can't be run: {error}"));
            return;
        }
    };
    let kept_meter = meter_on(store, started, None);
    found.wrong.extend(first_line::differences(started, &loaded.procedure, kept_meter.meter()));
    let meter = |day: Option<Date>| meter_on(store, started, day);
    let judge =
        Judge { procedure: &loaded.procedure, points: loaded.points.as_ref(), rules: &loaded.rules, meter: &meter };
    found.judged = match judge.again(&entries) {
        Ok(same) => Judged::Same(same),
        Err(difference) => {
            let Difference { line, recorded, now } = &difference;
            found.wrong.push(format!("line {line} has {recorded}; judged again it is {now}"));
            Judged::Differs(difference)
        }
    };
    for role in &loaded.procedure.header.reviewed_by {
        let performed = found.chain.sign_offs.iter().find(|sign_off| sign_off.statement.meaning.is_performed());
        let reviewed = performed.is_some_and(|performed| {
            found.chain.sign_offs.iter().any(|sign_off| {
                sign_off.line > performed.line
                    && sign_off.statement.role == *role
                    && sign_off.statement.name != performed.statement.name
            })
        });
        if !reviewed {
            found.unsigned.push(format!("the procedure wants it signed by a second person, role {role}"));
        }
    }
}

/// What there is to say of a sign-off that is dated before something that it signs: a clock was wrong, or a date was.
fn dated_before(entries: &[Entry], line: usize, at: &Stamp, statement: &Statement) -> Option<String> {
    let who = format!("line {line}, the sign-off of {}", Clean::name(&statement.name));
    let Some(signed) = at.second() else {
        return Some(format!("{who}: `{at}` is not a date"));
    };
    let mut signed_lines = entries.get(..line - 1)?.iter().enumerate();
    let (index, later) = signed_lines.rfind(|(_, entry)| entry.at.second().is_some_and(|at| at > signed))?;
    Some(format!("{who} is dated {at}, before line {}, which it signs and which is dated {}", index + 1, later.at))
}

fn not_signed(found: &mut Examination) {
    let chain = &found.chain;
    if chain.signed_to == 0 {
        found.unsigned.insert(0, "nobody has signed it".to_owned());
    } else if let (Some((first, what)), Some((last, _))) = (chain.unsigned.first(), chain.unsigned.last()) {
        let text = if first == last {
            format!("line {first} is not signed: {what}")
        } else {
            format!("lines {first} to {last} are not signed: {what} …")
        };
        found.unsigned.insert(0, text);
    }
    if chain.torn > 0 {
        let bytes = words::count(chain.torn, "byte", "bytes");
        found.unsigned.push(format!("the last line was not written whole ({bytes})"));
    }
}
