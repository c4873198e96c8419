//! A sign-off: who stands for a record, as what, with which meaning; and whether the shop lets them.

use super::clean::Clean;
use super::shop::{Person, Shop};
use super::source::SourceRef;
use super::stamp::Stamp;
use super::words;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What a signature covers is bound to this name, so that it can't be passed off as one for anything else.
pub const NAMESPACE: &str = "ohmwright-record";

/// The meaning of a signature: `performed`, `reviewed` …; the shop's roles list them.
#[derive(Clone, PartialEq, Eq, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Meaning(String);

impl Meaning {
    /// The person who did the work says so.
    pub const PERFORMED: &str = "performed";

    /// Takes the word as it is.
    pub fn new(word: impl Into<String>) -> Self {
        Self(word.into())
    }
    /// The word.
    pub fn as_str(&self) -> &str {
        &self.0
    }
    /// Whether it is the meaning of the person who did the work.
    pub fn is_performed(&self) -> bool {
        self.0 == Self::PERFORMED
    }
}

impl fmt::Display for Meaning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The line that a signature follows: printed name, role, meaning and key; its entry carries date and time.
///
/// The parts that a signed electronic record shows: 21 CFR 11.50(a).
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Statement {
    /// Printed name.
    pub name: String,
    /// Role in the shop.
    pub role: String,
    /// The meaning of the signature.
    pub meaning: Meaning,
    /// OpenSSH public key, without its comment.
    pub key: String,
    /// The record names no cause.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unfinished: bool,
    /// The shop's people as they were, which says who may sign what.
    pub people: SourceRef,
    /// A short digest of each line above, eight hexadecimal digits a line, and one of these digits. The signature is what
    /// proves; this tells which line was changed.
    pub lines: String,
}

/// Why somebody may not sign so.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NotAllowed {
    /// The shop lists nobody.
    #[error("the shop lists no people, so nobody can sign")]
    Nobody,
    /// Not one of the shop's people.
    #[error("the shop lists nobody named {}{}", Clean::name(name), words::did_you_mean(nearest.as_deref()))]
    Unknown {
        /// As given.
        name: String,
        /// The one that looks like it.
        nearest: Option<String>,
    },
    /// The shop has no key of theirs.
    #[error(
        "the shop lists no key for {}: `ohmwright key \"{}\"` makes one, and the lines for shop.toml",
        Clean::name(name),
        Clean::name(name)
    )]
    NoKey {
        /// Who.
        name: String,
    },
    /// Another key.
    #[error("this key is not the one that the shop lists for {}", Clean::name(name))]
    OtherKey {
        /// Who.
        name: String,
    },
    /// Not yet in force.
    #[error("the key of {} counts from {from}, and the sign-off is of {date}", Clean::name(name))]
    NotYet {
        /// Who.
        name: String,
        /// First day.
        from: String,
        /// The day of the sign-off.
        date: Date,
    },
    /// No longer in force.
    #[error("the key of {} expired: it counted until {until}, and the sign-off is of {date}", Clean::name(name))]
    Expired {
        /// Who.
        name: String,
        /// Last day.
        until: String,
        /// The day of the sign-off.
        date: Date,
    },
    /// A day that is none.
    #[error("`{text}` is not a date, in what the shop says of {}: write it as 2027-03-31", Clean::name(name))]
    NoDate {
        /// Who.
        name: String,
        /// As written.
        text: String,
    },
    /// A sign-off at no time.
    #[error("`{text}` is not a date and time")]
    NoTime {
        /// As written.
        text: String,
    },
    /// The role is not among the shop's roles.
    #[error("{} has the role `{}`, and the shop has no such role", Clean::name(name), Clean::name(role))]
    NoRole {
        /// Who.
        name: String,
        /// The role.
        role: String,
    },
    /// Signed in another role.
    #[error("{} signed as {}, and the shop says {}", Clean::name(name), Clean::name(stated), Clean::name(listed))]
    OtherRole {
        /// Who.
        name: String,
        /// In the statement.
        stated: String,
        /// In the shop's list.
        listed: String,
    },
    /// The role may not sign with this meaning.
    #[error("{} is {} and may not sign as {meaning}; {}", Clean::name(name), Clean::name(role), may_sign(may))]
    RoleMayNot {
        /// Who.
        name: String,
        /// The role.
        role: String,
        /// What was wanted.
        meaning: Meaning,
        /// The meanings that the role may sign.
        may: Vec<String>,
    },
}

fn may_sign(may: &[String]) -> String {
    if may.is_empty() {
        "that role signs nothing".to_owned()
    } else {
        format!("that role signs {}", words::either(may))
    }
}

/// An OpenSSH public key without its comment: its algorithm and its bytes. `None` if it does not look like one.
pub fn bare_key(key: &str) -> Option<String> {
    let mut words = key.split_whitespace();
    match (words.next(), words.next()) {
        (Some(algorithm), Some(bytes)) => Some(format!("{algorithm} {bytes}")),
        _ => None,
    }
}

/// The day of a time stamp, where it was written.
pub fn day_of(at: &Stamp) -> Option<Date> {
    at.as_str().get(..10)?.parse().ok()
}

impl Shop {
    /// The person who may sign so on that day. A person who got a new key is listed once for each; `key` tells which is
    /// meant, and may be left out to find the first one in force.
    ///
    /// # Errors
    /// Why not.
    pub fn signer(&self, name: &str, key: Option<&str>, meaning: &Meaning, at: &Stamp) -> Result<&Person, NotAllowed> {
        self.signers(name, key, meaning, at).map(|(first, _)| first)
    }

    /// The same, and the same person's other keys that are in force, as one for each computer: never none.
    ///
    /// # Errors
    /// Why not.
    pub fn signers(
        &self,
        name: &str,
        key: Option<&str>,
        meaning: &Meaning,
        at: &Stamp,
    ) -> Result<(&Person, Vec<&Person>), NotAllowed> {
        let date = day_of(at).ok_or_else(|| NotAllowed::NoTime { text: at.as_str().to_owned() })?;
        if self.people.is_empty() {
            return Err(NotAllowed::Nobody);
        }
        let named: Vec<_> = self.people.iter().filter(|person| person.name == name).collect();
        if named.is_empty() {
            let nearest = words::nearest(name, self.people.iter().map(|person| person.name.as_str()));
            return Err(NotAllowed::Unknown { name: name.to_owned(), nearest });
        }
        let keyed: Vec<_> = named.into_iter().filter(|person| person.key.is_some()).collect();
        if keyed.is_empty() {
            return Err(NotAllowed::NoKey { name: name.to_owned() });
        }
        let wanted = key.and_then(bare_key);
        let theirs: Vec<_> = keyed
            .into_iter()
            .filter(|person| wanted.is_none() || person.key.as_deref().and_then(bare_key) == wanted)
            .collect();
        let mut refused = NotAllowed::OtherKey { name: name.to_owned() };
        let mut may = Vec::new();
        for person in theirs {
            match in_force(person, date).and_then(|()| self.role_signs(person, meaning)) {
                Ok(()) => may.push(person),
                Err(problem) => refused = problem,
            }
        }
        if may.is_empty() { Err(refused) } else { Ok((may.remove(0), may)) }
    }

    fn role_signs(&self, person: &Person, meaning: &Meaning) -> Result<(), NotAllowed> {
        let Some(role) = self.roles.iter().find(|role| role.name == person.role) else {
            return Err(NotAllowed::NoRole { name: person.name.clone(), role: person.role.clone() });
        };
        if role.may_sign.iter().any(|may| may == meaning.as_str()) {
            return Ok(());
        }
        Err(NotAllowed::RoleMayNot {
            name: person.name.clone(),
            role: person.role.clone(),
            meaning: meaning.clone(),
            may: role.may_sign.clone(),
        })
    }

    /// Whether a statement made at that time was one that its signer could make.
    ///
    /// # Errors
    /// Why not.
    pub fn allows(&self, statement: &Statement, at: &Stamp) -> Result<(), NotAllowed> {
        let person = self.signer(&statement.name, Some(&statement.key), &statement.meaning, at)?;
        if person.role == statement.role {
            return Ok(());
        }
        Err(NotAllowed::OtherRole {
            name: statement.name.clone(),
            stated: statement.role.clone(),
            listed: person.role.clone(),
        })
    }
}

fn in_force(person: &Person, date: Date) -> Result<(), NotAllowed> {
    let name = || person.name.clone();
    let day = |text: &String| {
        text.parse::<Date>().map_err(|_| NotAllowed::NoDate { name: person.name.clone(), text: text.clone() })
    };
    if let Some(from) = &person.from
        && date < day(from)?
    {
        return Err(NotAllowed::NotYet { name: name(), from: from.clone(), date });
    }
    if let Some(until) = &person.until
        && date > day(until)?
    {
        return Err(NotAllowed::Expired { name: name(), until: until.clone(), date });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::shop::Role;

    fn person(role: &str, key: &str, from: Option<&str>, until: Option<&str>) -> Person {
        Person {
            name: "Ana Example".into(),
            role: role.into(),
            key: Some(key.into()),
            from: from.map(Into::into),
            until: until.map(Into::into),
        }
    }

    fn shop(people: Vec<Person>) -> Shop {
        let roles = vec![
            Role { name: "technician".into(), may_sign: vec!["performed".into()] },
            Role { name: "lead".into(), may_sign: vec!["performed".into(), "reviewed".into()] },
        ];
        Shop { people, roles, ..Shop::default() }
    }

    #[test]
    fn the_first_and_the_last_day_count_where_the_stamp_was_written() {
        let shop = shop(vec![person("lead", "ssh-ed25519 AAAA1", Some("2026-11-24"), Some("2026-11-25"))]);
        let may = |at: &str| shop.signer("Ana Example", None, &Meaning::new("reviewed"), &Stamp::new(at));
        assert!(may("2026-11-24T00:00:00+13:00").is_ok());
        assert!(may("2026-11-25T23:59:59-08:00").is_ok());
        assert!(matches!(may("2026-11-23T23:59:59-08:00"), Err(NotAllowed::NotYet { .. })));
        assert!(matches!(may("2026-11-26T00:00:00+13:00"), Err(NotAllowed::Expired { .. })));
        assert!(matches!(may("some day"), Err(NotAllowed::NoTime { .. })));
    }

    #[test]
    fn a_new_key_takes_over_from_the_old_one() {
        let shop = shop(vec![
            person("technician", "ssh-ed25519 OLD ana@old", None, Some("2026-06-30")),
            person("lead", "ssh-ed25519 NEW", Some("2026-07-01"), None),
        ]);
        let meaning = Meaning::new("performed");
        let (before, after) = (Stamp::new("2026-06-30T12:00:00Z"), Stamp::new("2026-07-01T12:00:00Z"));
        let key = |at: &Stamp| shop.signer("Ana Example", None, &meaning, at).unwrap().key.clone().unwrap();
        assert_eq!(key(&before), "ssh-ed25519 OLD ana@old");
        assert_eq!(key(&after), "ssh-ed25519 NEW");
        let old = shop.signer("Ana Example", Some("ssh-ed25519 OLD another comment"), &meaning, &after);
        assert!(matches!(old, Err(NotAllowed::Expired { .. })));
        let other = shop.signer("Ana Example", Some("ssh-ed25519 THIRD"), &meaning, &after);
        assert!(matches!(other, Err(NotAllowed::OtherKey { .. })));
    }

    #[test]
    fn a_role_signs_what_the_shop_lets_it() {
        let shop = shop(vec![person("technician", "ssh-ed25519 AAAA1", None, None)]);
        let at = Stamp::new("2026-11-24T09:00:00Z");
        let refused = shop.signer("Ana Example", None, &Meaning::new("reviewed"), &at).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "Ana Example is technician and may not sign as reviewed; that role signs performed"
        );
        let unknown = shop.signer("Ana Exampel", None, &Meaning::new("performed"), &at).unwrap_err();
        assert_eq!(unknown.to_string(), "the shop lists nobody named Ana Exampel; did you mean `Ana Example`?");
    }
}
