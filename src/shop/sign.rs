//! What a signature needs before it is made.

use crate::model::event::Entry;
use crate::model::shop::Person;
use crate::model::signoff::Meaning;
use crate::run::public_key;
use crate::shop::error::ShopError;
use crate::shop::examine::Examination;
use ssh_key::PublicKey;

/// The keys that can sign, each with its line in the shop's list.
pub fn listed_keys<'a>(people: &[&'a Person]) -> Result<Vec<(&'a Person, PublicKey)>, ShopError> {
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
            format!("what shop.toml has as the key of {} can't be used: {problem}", person.name),
            "it is the line that `ohmwright key` prints, or that `ssh-keygen` puts into the file that ends in .pub",
        )),
        _ => Ok(keys),
    }
}

/// Nobody signs what does not verify.
pub fn refuse_if_wrong(record: &str, examination: &Examination) -> Result<(), ShopError> {
    match examination.findings().first() {
        None => Ok(()),
        Some(first) => Err(ShopError::refused_with(
            format!("{record} does not verify, so it can't be signed: {first}"),
            format!("`ohmwright verify {record}` shows all that is wrong"),
        )),
    }
}

/// The same person signs with the same meaning once, unless the record went on since.
pub fn refuse_twice(
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
            "{} has signed {record} as {} already, {}",
            name,
            meaning,
            sign_off.at.short()
        ))),
    }
}
