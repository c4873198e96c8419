//! A sign-off: what is refused before it, the bytes that are signed, and what is written.

use crate::model::clean::Clean;
use crate::model::event::{Entry, Event};
use crate::model::record::{Record, RunStatus};
use crate::model::shop::Person;
use crate::model::signoff::{Meaning, Statement, bare_key};
use crate::model::source::SourceKind;
use crate::model::stamp::Stamp;
use crate::records::bounded::MOST_SIGN_OFFS;
use crate::records::chain::Lines;
use crate::records::journal_file::FileJournal;
use crate::records::store::RunFolder;
use crate::run::journal::{Clock, Durability, Journal};
use crate::run::public_key;
use crate::run::signature::holds;
use crate::shop::error::ShopError;
use crate::shop::examine::{Examination, Kept, ListHere, by_another, examine_bytes};
use crate::shop::settings::Settings;
use ssh_key::PublicKey;

/// The technician of a record that has ended, where the shop lists them as one who can sign that they performed it.
pub fn may_sign(settings: &Settings, folder: &RunFolder) -> Option<String> {
    let entries = Lines::of(&folder.bytes().ok()?).into_entries()?;
    let record = Record::of(&entries).ok()?;
    let name = record.started.job.technician?;
    let now = settings.clock.clone().now();
    let ended = matches!(record.status, RunStatus::Concluded(_) | RunStatus::Ended(_));
    let is_listed = || settings.shop.shop.signer(&name, None, &Meaning::new(Meaning::PERFORMED), &now).is_ok();
    (ended && is_listed()).then_some(name)
}

/// A record that can be signed by somebody. Nothing of it is written yet.
pub struct ToSign<'a> {
    person: &'a Person,
    listed: Vec<(&'a Person, PublicKey)>,
    meaning: Meaning,
    record: Record,
}

impl<'a> ToSign<'a> {
    /// # Errors
    /// There is no shop, the shop does not list the person, the record does not verify, or it is signed so already.
    pub fn prepare(
        settings: &'a Settings,
        folder: &RunFolder,
        name: &str,
        meaning: &Meaning,
    ) -> Result<Self, ShopError> {
        if settings.shop.root.is_none() {
            return Err(ShopError::refused_with(
                "there is no shop here that says who may sign",
                "name its folder with --shop; its shop.toml lists people and roles under [[person]] and [[role]]",
            ));
        }
        let (person, others) = settings
            .shop
            .shop
            .signers(name, None, meaning, &settings.clock.clone().now())
            .map_err(|problem| ShopError::refused(problem.to_string()))?;
        let listed = listed_keys(&[&[person], &*others].concat())?;
        let (bytes, store) = (folder.bytes()?, folder.store());
        let examination = examine_bytes(&bytes, &store, &folder.name, ListHere::None, Some(&Kept::default()));
        refuse_if_wrong(&folder.name, &examination)?;
        let entries = Lines::of(&bytes).into_entries().unwrap_or_default();
        let record = Record::of(&entries).map_err(|error| ShopError::refused(format!("{}: {error}", folder.name)))?;
        if examination.chain.sign_offs.len() >= MOST_SIGN_OFFS {
            let sentence = format!("{} has {MOST_SIGN_OFFS} sign-offs, and a record has no more", folder.name);
            return Err(ShopError::refused(sentence));
        }
        refuse_twice(&folder.name, &examination, &entries, name, meaning)?;
        Ok(Self { person, listed, meaning: meaning.clone(), record })
    }

    /// The keys that can sign it.
    pub fn keys(&self) -> Vec<&PublicKey> {
        self.listed.iter().map(|(_, key)| key).collect()
    }

    /// What is signed with which of the keys. A last line that was not written whole is dropped.
    pub fn state(self, settings: &Settings, folder: &RunFolder, which: usize) -> Result<Stated, ShopError> {
        let mut clock = settings.clock.clone();
        let person = self.listed.get(which).map_or(self.person, |(person, _)| person);
        let (mut journal, back) = folder.journal()?;
        if back.torn() > 0 {
            journal.note(clock.now(), Event::TornLineDropped { bytes: back.torn() })?;
        }
        let mut bytes = folder.bytes()?;
        let people = folder.store().keep(SourceKind::People, "shop.toml", settings.shop.text.as_bytes())?;
        let statement = Statement {
            name: person.name.clone(),
            role: person.role.clone(),
            meaning: self.meaning,
            key: person.key.as_deref().and_then(bare_key).unwrap_or_default(),
            unfinished: !matches!(self.record.status, RunStatus::Concluded(_)),
            people,
            lines: Lines::of(&bytes).digests(),
        };
        let above = bytes.len();
        let at = clock.now();
        let entry = Entry::new(at.clone(), Event::Stated(Box::new(statement.clone())));
        serde_json::to_writer(&mut bytes, &entry).map_err(|error| ShopError::Files(error.to_string()))?;
        bytes.push(b'\n');
        let remark = by_another(self.record.technician(), &statement);
        Ok(Stated { journal, bytes, above, statement, at, remark })
    }
}

/// A statement with the bytes that are signed.
pub struct Stated {
    journal: FileJournal,
    bytes: Vec<u8>,
    /// Where the statement's own line begins.
    above: usize,
    statement: Statement,
    at: Stamp,
    remark: Option<String>,
}

/// A sign-off that is in the record.
pub struct Signed {
    /// What was signed.
    pub statement: Statement,
    /// When.
    pub at: Stamp,
    /// What is to be known of it.
    pub remark: Option<String>,
}

impl Stated {
    /// Every byte up to and with the statement's line end.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Writes the statement and its signature. Nothing gets into a record that does not hold, whatever an agent says.
    pub fn signed(self, signature: String) -> Result<Signed, ShopError> {
        let Self { mut journal, bytes, above, statement, at, remark } = self;
        holds(&statement, &signature, &bytes)
            .map_err(|broken| ShopError::refused(format!("the signature that was made is not taken: {broken}")))?;
        // Both lines reach the disk in one write; the first is the very bytes that were signed.
        journal.append_line(&bytes[above..]).map_err(ShopError::Files)?;
        let signed = Entry::new(at.clone(), Event::Signed { signature });
        journal.append(&signed, Durability::Each).map_err(ShopError::Files)?;
        Ok(Signed { statement, at, remark })
    }
}

/// The keys that can sign, each with its line in the shop's list.
fn listed_keys<'a>(people: &[&'a Person]) -> Result<Vec<(&'a Person, PublicKey)>, ShopError> {
    let mut keys = Vec::new();
    let mut refused = None;
    for person in people {
        match public_key::listed(person.key.as_deref().unwrap_or_default()) {
            Ok(key) => keys.push((*person, key)),
            Err(problem) => refused = refused.or(Some((person, problem))),
        }
    }
    match refused {
        Some((person, problem)) if keys.is_empty() => Err(ShopError::refused_with(
            format!("what shop.toml has as the key of {} can't be used: {problem}", Clean::name(&person.name)),
            "it is the line that `ohmwright key` prints, or that `ssh-keygen` puts into the file that ends in .pub",
        )),
        _ => Ok(keys),
    }
}

/// Nobody signs what does not verify.
fn refuse_if_wrong(record: &str, examination: &Examination) -> Result<(), ShopError> {
    match examination.findings().first() {
        None => Ok(()),
        Some(first) => Err(ShopError::refused_with(
            format!("{} does not verify, so it can't be signed: {first}", Clean::name(record)),
            format!("`ohmwright verify {}` shows all that is wrong", Clean::name(record)),
        )),
    }
}

/// The same person signs with the same meaning once, unless the record went on since.
fn refuse_twice(
    record: &str,
    examination: &Examination,
    entries: &[Entry],
    name: &str,
    meaning: &Meaning,
) -> Result<(), ShopError> {
    let again = examination.chain.sign_offs.iter().rev().find(|sign_off| {
        sign_off.statement.name == name
            && sign_off.statement.meaning == *meaning
            && entries[sign_off.line..].iter().all(|entry| entry.event.is_of_a_sign_off())
    });
    match again {
        None => Ok(()),
        Some(sign_off) => Err(ShopError::refused(format!(
            "{} has signed {} as {} already, {}",
            Clean::name(name),
            Clean::name(record),
            meaning,
            sign_off.at.short()
        ))),
    }
}
