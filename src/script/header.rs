//! The TOML header of a procedure or library file, in its `//!` lines.

use super::diagnose::Source;
use crate::model::diagnostic::{self, Diagnostic};
use crate::model::event::{LONGEST_FOR_A_CUSTOMER, MOST_EVENTS, NamedCause};
use crate::model::prompt::CauseId;
use serde::Deserialize;
use std::collections::BTreeMap;

/// The header of a procedure.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// Its title.
    pub title: String,
    /// Its revision; a library file may do without.
    #[serde(default, deserialize_with = "from_one_on")]
    pub revision: u32,
    /// The circuit that supplies its points and roles.
    #[serde(default)]
    pub circuit: Option<String>,
    /// How long it takes.
    #[serde(default)]
    pub minutes: Option<u32>,
    /// How many events a run of it may have.
    #[serde(default = "most_events", deserialize_with = "a_sane_number")]
    pub events: u32,
    /// What it needs.
    #[serde(default)]
    pub tools: Vec<String>,
    /// Library files, resolved before the run starts.
    #[serde(default)]
    pub uses: Vec<String>,
    /// Its causes.
    #[serde(default)]
    pub causes: BTreeMap<String, CauseText>,
    /// Roles that must sign a record of it, besides the technician.
    #[serde(default)]
    pub reviewed_by: Vec<String>,
}

const fn most_events() -> u32 {
    MOST_EVENTS
}

/// What a header may raise the number of events to.
const HIGHEST_EVENTS: u32 = 100_000;

fn a_sane_number<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<u32, D::Error> {
    match u32::deserialize(deserializer)? {
        events @ 1..=HIGHEST_EVENTS => Ok(events),
        other => Err(serde::de::Error::custom(format!("a run has 1 to {HIGHEST_EVENTS} events, not {other}"))),
    }
}

fn from_one_on<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<u32, D::Error> {
    match u32::deserialize(deserializer)? {
        0 => Err(serde::de::Error::custom("revisions begin at 1")),
        revision => Ok(revision),
    }
}

/// A cause with its correction.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CauseText {
    /// What is wrong.
    pub cause: String,
    /// What to do about it.
    pub correction: String,
    /// What is wrong, in words for an owner: it stands on the customer's page in place of `cause`.
    #[serde(default)]
    pub customer: Option<String>,
}

impl Header {
    /// The causes as the record names them; `not_present` is there even where the header says nothing of it.
    pub fn named_causes(&self) -> Vec<NamedCause> {
        let mut causes: Vec<_> = self
            .causes
            .iter()
            .map(|(id, text)| NamedCause {
                id: CauseId::new(id.as_str()),
                cause: text.cause.clone(),
                correction: text.correction.clone(),
                customer: text.customer.clone(),
            })
            .collect();
        if !self.causes.contains_key(CauseId::NOT_PRESENT) {
            causes.push(NamedCause {
                id: CauseId::new(CauseId::NOT_PRESENT),
                cause: "Not present while tested".to_owned(),
                correction: "Nothing was repaired; test again under the conditions of the concern".to_owned(),
                customer: None,
            });
        }
        causes
    }
}

/// What only a procedure's header can say, and what would be read as said and do nothing in a library file's.
pub fn does_nothing_in_a_library(header: &Header, source: &Source) -> Vec<Diagnostic> {
    let said = [
        ("uses", !header.uses.is_empty(), "name it in the procedure's `uses`, before this file"),
        ("circuit", header.circuit.is_some(), "name it in the procedure's header"),
        ("events", header.events != MOST_EVENTS, "say it in the procedure's header"),
        ("reviewed_by", !header.reviewed_by.is_empty(), "say it in the procedure's header"),
    ];
    let said_in_vain = said.into_iter().filter(|(_, is_said, _)| *is_said);
    said_in_vain
        .map(|(key, _, what)| {
            Diagnostic::at(
                &source.file,
                &source.text,
                place_of_key(&source.text, key),
                format!("`{key}` does nothing in the header of a library file"),
            )
            .with_hint(what)
        })
        .collect()
}

/// Whether a cause can be called so.
pub fn is_cause_name(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase())
        && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}

/// Where a key of the header stands first, with its name.
fn place_of_key(text: &str, key: &str) -> std::ops::Range<usize> {
    let begins_its_line =
        |start: &usize| text[..*start].rsplit('\n').next().is_some_and(|before| before.trim() == "//!");
    let mut places = text.match_indices(key).map(|(start, _)| start);
    let start = places.find(begins_its_line).unwrap_or(0);
    start..(start + key.len()).min(text.len())
}

/// Texts that have to say something and are empty.
pub fn empty_texts(header: &Header, source: &Source) -> Vec<Diagnostic> {
    let empty = |text: &str| text.trim().is_empty();
    let at = |key: &str, title: String, what: &str| {
        Diagnostic::at(&source.file, &source.text, place_of_key(&source.text, key), title).with_hint(what)
    };
    let mut found = Vec::new();
    if empty(&header.title) {
        found.push(at("title", "the procedure's `title` is empty".to_owned(), "say in a few words what it finds out"));
    }
    for (id, text) in &header.causes {
        if empty(&text.cause) {
            found.push(at(
                id,
                format!("the cause `{id}` has an empty `cause`"),
                "say what is wrong then: it goes into the record",
            ));
        }
        if empty(&text.correction) {
            found.push(at(
                id,
                format!("the cause `{id}` has an empty `correction`"),
                "say what is to be done about it",
            ));
        }
        let Some(customer) = &text.customer else { continue };
        if empty(customer) {
            found.push(at(
                id,
                format!("the cause `{id}` has an empty `customer`"),
                "say it in words for an owner, or leave `customer` out",
            ));
        } else if customer.chars().count() > LONGEST_FOR_A_CUSTOMER {
            found.push(at(
                id,
                format!("the text for the customer of `{id}` is longer than {LONGEST_FOR_A_CUSTOMER} characters"),
                "say it in one or two sentences",
            ));
        }
    }
    found
}

/// Where the header says which circuit it takes.
pub fn place_of_circuit(source: &Source) -> std::ops::Range<usize> {
    let key = place_of_key(&source.text, "circuit");
    let rest = &source.text[key.end..];
    let line = rest.find('\n').map_or(rest, |end| &rest[..end]);
    match (line.find(['"', '\'']), line.rfind(['"', '\''])) {
        (Some(from), Some(to)) if from < to => key.end + from..key.end + to + 1,
        _ => key,
    }
}

/// Reads the header out of a script's `//!` lines.
///
/// # Errors
/// No header, or one with an error, each at its place.
pub fn parse(file: &str, source: &str) -> Result<Header, Box<Diagnostic>> {
    // The header's lines keep their place in the file: what is not header becomes blanks, so that spans fit.
    let mut toml = String::with_capacity(source.len());
    let mut any = false;
    let mut ended = false;
    for line in source.split_inclusive('\n') {
        let body = line.trim_end_matches(['\n', '\r']);
        let rest = &line[body.len()..];
        let trimmed = body.trim_start();
        if let Some(text) = trimmed.strip_prefix("//!").filter(|_| !ended) {
            any = true;
            toml.push_str(&" ".repeat(body.len() - text.len()));
            toml.push_str(text);
        } else {
            ended |= any && !trimmed.is_empty();
            toml.push_str(&" ".repeat(body.len()));
        }
        toml.push_str(rest);
    }
    if !any {
        return Err(Box::new(
            Diagnostic::of_file(file, "there is no header")
                .with_hint("begin the file with lines such as `//! title = \"…\"` and `//! revision = 1`"),
        ));
    }
    let header: Header = toml::from_str(&toml).map_err(|error| {
        let mut diagnostic = diagnostic::of_toml(file, source, &error);
        if error.message() == "missing field `title`" {
            diagnostic.title = "the header has no `title`".to_owned();
            if let Some(place) = &mut diagnostic.place {
                let start = source.find("//!").unwrap_or(0);
                place.range = start..start + 3;
            }
            diagnostic.hint = Some("add the line `//! title = \"…\"` among the `//!` lines".to_owned());
        }
        let line = diagnostic.line().and_then(|line| source.lines().nth(line - 1)).unwrap_or("");
        if error.message().starts_with("unknown field ") && line.contains("cause =") && line.contains('{') {
            diagnostic.hint = Some("write the causes under a line of their own: `//! [causes]`".to_owned());
        }
        if line.trim_start_matches("//!").trim_start().starts_with("revision") {
            diagnostic.title = diagnostic.title.replace("a whole number from 0 on", "a whole number from 1 on");
        }
        Box::new(diagnostic)
    })?;
    for id in header.causes.keys() {
        if !is_cause_name(id) {
            let place = diagnostic::key_place(&toml, &["causes", id]).unwrap_or_default();
            return Err(Box::new(
                Diagnostic::at(file, source, place, format!("`{id}` can't be a cause's name"))
                    .with_hint("use small letters, digits and _, beginning with a letter"),
            ));
        }
    }
    Ok(header)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_for_the_customer_says_something_and_is_no_page() {
        let of = |customer: &str| {
            let text = format!(
                "//! title = \"x\"\n//! [causes]\n//! a = {{ cause = 'x', correction = 'y', customer = '{customer}' }}\n"
            );
            let header = parse("p.rhai", &text).unwrap();
            let customer = header.named_causes()[0].customer.clone();
            let source = Source { file: "p.rhai".into(), text: text.as_str().into() };
            (customer, empty_texts(&header, &source).iter().map(|found| found.title.clone()).collect::<Vec<_>>())
        };
        assert_eq!(of("A wire is broken"), (Some("A wire is broken".to_owned()), vec![]));
        assert_eq!(of(" ").1, ["the cause `a` has an empty `customer`"]);
        assert_eq!(of(&"x".repeat(301)).1, ["the text for the customer of `a` is longer than 300 characters"]);
    }

    #[test]
    fn a_header_is_read_and_its_errors_have_their_place() {
        let good = "//! title = \"Ω test\"\n//! revision = 2\n//! [causes]\n//! a_b = { cause = 'x', correction = 'y' }\nstep(\"s\");\n";
        let header = parse("p.rhai", good).unwrap();
        assert_eq!((header.title.as_str(), header.revision), ("Ω test", 2));
        assert_eq!(header.named_causes().len(), 2);
        assert_eq!(header.named_causes()[0].customer, None);
        let bad = "//! title = \"x\"\n//! revison = 2\n";
        let error = parse("p.rhai", bad).unwrap_err();
        assert_eq!(error.line(), Some(2));
        assert!(error.title.contains("revison"), "{}", error.title);
        assert!(parse("p.rhai", "step(\"s\");").unwrap_err().title.contains("no header"));
        assert!(parse("p.rhai", "//! revision = 1\n").unwrap_err().title.contains("title"));
        let zero = parse("p.rhai", "//! title = \"x\"\n//! revision = 0\n").unwrap_err();
        assert_eq!((zero.line(), zero.title.as_str()), (Some(2), "revisions begin at 1"));
    }
}
