//! `sign`: somebody stands for a record.

use crate::cli::arguments;
use crate::cli::commands::how::quoted;
use crate::cli::error::CliError;
use crate::cli::examine::{self, Examination, Kept, ListHere};
use crate::cli::exit::Exit;
use crate::cli::keys::signing_key::{Passphrase, Signer, Wanted};
use crate::cli::settings::Settings;
use crate::cli::store::RunFolder;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::model::event::{Entry, Event};
use crate::model::record::{Record, RunStatus};
use crate::model::shop::Person;
use crate::model::signoff::{Meaning, Statement, bare_key};
use crate::model::source::SourceKind;
use crate::report::entry::{Tone, sign_off_text};
use crate::report::table::{harmless, wrapped};
use crate::run::chain::{Lines, fingerprint};
use crate::run::journal::{Clock, Durability, Journal};
use crate::run::public_key;
use crate::run::signature::holds;
use ssh_key::PublicKey;
use std::io::IsTerminal;
use std::path::Path;

/// Who wants to sign, and with what.
struct Request<'a> {
    name: &'a str,
    meaning: Meaning,
    key: Option<&'a Path>,
    passphrase: Passphrase,
    /// How to go on where no passphrase opens the key, if nothing else says so.
    later: Option<String>,
}

/// Signs a record.
pub fn sign(settings: &Settings, arguments: &arguments::Sign, output: &mut Output) -> Result<Exit, CliError> {
    let record = match &arguments.record {
        Some(record) => record.clone(),
        None => settings.store.latest()?,
    };
    let folder = settings.store.open(&record)?;
    let name = arguments.name.trim();
    let meaning = Meaning::new(arguments.meaning.trim());
    let request = Request {
        name,
        key: arguments.key.as_deref(),
        passphrase: Passphrase::from(arguments.passphrase_file.as_deref()),
        later: Some(format!("{} signs it later", command(&folder.name, name, &meaning))),
        meaning,
    };
    sign_open(settings, &folder, &request, output)?;
    Ok(Exit::Done)
}

/// At the end of a run at the vehicle: offers the sign-off to a technician whom the shop lists.
pub fn offer(settings: &Settings, folder: &RunFolder, person: bool, output: &mut Output) {
    if !person || !std::io::stdin().is_terminal() {
        return;
    }
    let Ok(bytes) = folder.bytes() else { return };
    let Some(record) = Lines::of(&bytes).into_entries().and_then(|entries| Record::of(&entries).ok()) else { return };
    let Some(name) = record.started.job.technician else { return };
    let meaning = Meaning::new(Meaning::PERFORMED);
    let now = settings.clock.clone().now();
    let ended = matches!(record.status, RunStatus::Concluded(_) | RunStatus::Ended(_));
    if !ended || settings.shop.shop.signer(&name, None, &meaning, &now).is_err() {
        return;
    }
    output.line(&harmless(&format!("Sign it off as {meaning}, {name}?")));
    let not_signed = harmless(&format!("Not signed; {} does it later.", command(&folder.name, &name, &meaning)));
    let not_signed = wrapped(&not_signed, output.width(), "", "  ");
    let mut input = Input::open();
    loop {
        match input.line("1 yes, 2 no > ", output).as_deref().map(str::trim) {
            Some("1" | "y" | "yes") => break,
            None | Some("2" | "n" | "no") => {
                output.line(&not_signed);
                return;
            }
            Some(_) => output.line("  Type 1 to sign it, or 2 to leave it for later."),
        }
    }
    let request = Request { name: &name, meaning, key: None, passphrase: Passphrase::from(None), later: None };
    if let Err(error) = sign_open(settings, folder, &request, output) {
        output.error(&error);
        output.line(&not_signed);
    }
}

/// What is typed to sign a record later.
fn command(record: &str, name: &str, meaning: &Meaning) -> String {
    let meaning = if meaning.is_performed() { String::new() } else { format!(" --meaning {meaning}") };
    format!("`ohmwright sign {record} --as {}{meaning}`", quoted(name))
}

fn sign_open(
    settings: &Settings,
    folder: &RunFolder,
    request: &Request<'_>,
    output: &mut Output,
) -> Result<(), CliError> {
    let shop = &settings.shop.shop;
    if settings.shop.root.is_none() {
        return Err(CliError::usage_with(
            "there is no shop here that says who may sign",
            "name its folder with --shop; people and roles stand in its shop.toml under [[person]] and [[role]]",
        ));
    }
    let mut clock = settings.clock.clone();
    let (person, others) = shop
        .signers(request.name, None, &request.meaning, &clock.clone().now())
        .map_err(|problem| CliError::usage(problem.to_string()))?;
    let listed = listed_keys(&[&[person], &*others].concat())?;

    let (bytes, store) = (folder.bytes()?, folder.store());
    let examination = examine::examine_bytes(&bytes, &store, &folder.name, ListHere::None, Some(&Kept::default()));
    refuse_if_wrong(&folder.name, &examination)?;
    let entries = Lines::of(&bytes).into_entries().unwrap_or_default();
    let record = Record::of(&entries).map_err(|error| CliError::usage(format!("{}: {error}", folder.name)))?;
    refuse_twice(&folder.name, &examination, &entries, request)?;

    let keys: Vec<_> = listed.iter().map(|(_, key)| key).collect();
    let wanted = Wanted {
        name: request.name,
        listed: &keys,
        file: request.key,
        passphrase: &request.passphrase,
        later: request.later.as_deref(),
    };
    let (mut signer, which) = Signer::find(&wanted, output)?;
    let person = listed.get(which).map_or(person, |(person, _)| person);
    let (mut journal, back) = folder.journal()?;
    if back.torn() > 0 {
        journal.note(clock.now(), Event::TornLineDropped { bytes: back.torn() })?;
    }
    let mut bytes = folder.bytes()?;
    let people = store.keep(SourceKind::People, "shop.toml", settings.shop.text.as_bytes())?;
    let statement = Statement {
        name: person.name.clone(),
        role: person.role.clone(),
        meaning: request.meaning.clone(),
        key: person.key.as_deref().and_then(bare_key).unwrap_or_default(),
        unfinished: !matches!(record.status, RunStatus::Concluded(_)),
        people,
        lines: Lines::of(&bytes).digests(),
    };
    let at = clock.now();
    let stated = Entry { at: at.clone(), event: Event::Stated(Box::new(statement.clone())) };
    let above = bytes.len();
    serde_json::to_writer(&mut bytes, &stated).map_err(|error| CliError::Files(error.to_string()))?;
    bytes.push(b'\n');
    if signer.is_a_device() {
        output.note("Touch the security key when it blinks.");
    }
    let signature = signer.sign(&bytes)?;
    // Nothing gets into a record that does not hold, whatever an agent says.
    holds(&statement, &signature, &bytes)
        .map_err(|broken| CliError::usage(format!("the signature that was made is not taken: {broken}")))?;
    // Both lines reach the disk in one write; the first is the very bytes that were signed.
    journal.append_line(&bytes[above..]).map_err(CliError::Files)?;
    let signed = Entry { at: at.clone(), event: Event::Signed { signature } };
    journal.append(&signed, Durability::Each).map_err(CliError::Files)?;

    let width = output.width();
    let text = format!("Signed: {}", sign_off_text(&statement, &at));
    output.toned(Tone::Good, &wrapped(&text, width, "", "  "));
    output.line(&format!("Key: {}", fingerprint(&statement.key)));
    if let Some(remark) = examine::by_another(record.started.job.technician.as_deref(), &statement) {
        output.toned(Tone::Doubtful, &wrapped(&harmless(&format!("Note: {remark}.")), width, "", "  "));
    }
    if statement.unfinished {
        output.line("The record names no cause; it is signed as unfinished, and says so.");
    }
    output.line(&format!("Record: {}", folder.name));
    Ok(())
}

/// The keys that can sign, each with its line in the shop's list.
fn listed_keys<'a>(people: &[&'a Person]) -> Result<Vec<(&'a Person, PublicKey)>, CliError> {
    let mut keys = Vec::new();
    let mut refused = None;
    for person in people {
        match public_key::listed(person.key.as_deref().unwrap_or_default()) {
            Ok(key) => keys.push((*person, key)),
            Err(problem) => refused = refused.or(Some((person, problem))),
        }
    }
    match refused {
        Some((person, problem)) if keys.is_empty() => Err(CliError::usage_with(
            format!("what shop.toml has as the key of {} can't be used: {problem}", person.name),
            "it is the line that `ohmwright key` prints, or that `ssh-keygen` puts into the file that ends in .pub",
        )),
        _ => Ok(keys),
    }
}

/// Nobody signs what does not verify.
fn refuse_if_wrong(record: &str, examination: &Examination) -> Result<(), CliError> {
    match examination.findings().first() {
        None => Ok(()),
        Some(first) => Err(CliError::usage_with(
            format!("{record} does not verify, so it can't be signed: {first}"),
            format!("`ohmwright verify {record}` shows all that is wrong"),
        )),
    }
}

/// The same person signs with the same meaning once, unless the record went on since.
fn refuse_twice(
    record: &str,
    examination: &Examination,
    entries: &[Entry],
    request: &Request<'_>,
) -> Result<(), CliError> {
    let again = examination.chain.sign_offs.iter().rev().find(|sign_off| {
        sign_off.statement.name == request.name
            && sign_off.statement.meaning == request.meaning
            && entries[sign_off.line..].iter().all(|entry| entry.event.is_of_a_sign_off())
    });
    match again {
        None => Ok(()),
        Some(sign_off) => Err(CliError::usage(format!(
            "{} has signed {record} as {} already, {}",
            request.name,
            request.meaning,
            sign_off.at.short()
        ))),
    }
}
