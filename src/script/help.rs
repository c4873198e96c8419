//! Help at the prompt: the helpers' doc comments, the words of the language, and what the engine says of its own functions.

use super::words::BROUGHT;
use super::{bindings, console, console_bench};
use crate::model::electrical::{self, HELPERS};
use crate::model::words;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// A function as help tells of it.
#[derive(Clone, Copy, Debug)]
pub struct Word {
    /// Its name.
    pub name: &'static str,
    /// Names and kinds of its arguments, then the kind of its result.
    pub kinds: &'static [&'static str],
    /// What it does, in a sentence.
    pub doc: &'static str,
}

impl Word {
    /// Its name and how many arguments it takes.
    pub const fn takes(&self) -> (&'static str, usize) {
        (self.name, self.kinds.len().saturating_sub(1))
    }
}

/// One function as it can be called, with its doc comment.
#[derive(Clone, Debug)]
struct Entry {
    signature: String,
    doc: String,
}

impl From<&Word> for Entry {
    fn from(word: &Word) -> Self {
        let (result, takes) = word.kinds.split_last().unwrap_or((&"()", &[]));
        let signature = signature(word.name, takes, result);
        Self { signature, doc: word.doc.to_owned() }
    }
}

/// A property is read behind a point, anything else is called.
fn signature(name: &str, takes: &[&str], result: &str) -> String {
    let takes: Vec<String> = takes
        .iter()
        .map(|argument| match argument.split_once(": ") {
            Some((name, kind)) => format!("{name}: {}", kind_words(kind)),
            None => kind_words(argument).to_owned(),
        })
        .collect();
    let takes = if name.contains('.') { String::new() } else { format!("({})", takes.join(", ")) };
    let result = if result == "()" { String::new() } else { format!(" \u{2192} {}", kind_words(result)) };
    format!("{name}{takes}{result}")
}

/// A kind of value as a technician would call it; what is asked for has its own page of help under its name.
fn kind_words(kind: &str) -> &str {
    match kind {
        "String" => "text",
        "Array" => "list",
        "Quantity" => "quantity",
        "bool" => "true or false",
        "i64" => "whole number",
        "f64" => "number",
        other => other,
    }
}

fn entries() -> &'static BTreeMap<String, Vec<Entry>> {
    static ENTRIES: OnceLock<BTreeMap<String, Vec<Entry>>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let mut entries: BTreeMap<String, Vec<Entry>> = BTreeMap::new();
        for (name, takes, doc) in BROUGHT.iter().flat_map(|group| group.functions) {
            let takes: Vec<String> = takes.iter().map(usize::to_string).collect();
            let takes = words::either(&takes);
            let signature = format!("{name}: takes {takes}");
            entries.entry((*name).to_owned()).or_default().push(Entry { signature, doc: (*doc).to_owned() });
        }
        for word in every_word() {
            // A property is found by its own name, too.
            let name = word.name.rsplit('.').next().unwrap_or(word.name);
            entries.entry(name.to_owned()).or_default().push(word.into());
        }
        for list in entries.values_mut() {
            list.sort_by(|a, b| (a.signature.len(), &a.signature).cmp(&(b.signature.len(), &b.signature)));
            list.dedup_by(|a, b| a.signature == b.signature);
        }
        entries
    })
}

/// So many names of a topic stand in the list of topics.
const NAMES_OF_A_TOPIC: usize = 3;

/// Every topic with the names in it: the helpers', then what procedures are written with.
fn topics() -> Vec<(&'static str, Vec<&'static str>)> {
    let mut topics: Vec<(&str, Vec<&str>)> = Vec::new();
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        match topics.last_mut() {
            Some((topic, names)) if *topic == helper.topic => names.push(helper.name),
            _ => topics.push((helper.topic, vec![helper.name])),
        }
    }
    // `sleep` is there only to say that there is none.
    let mut seen: BTreeSet<&str> = topics.iter().flat_map(|(_, names)| names).copied().chain(["sleep"]).collect();
    let mut add = |topic: &'static str, names: &mut dyn Iterator<Item = &'static str>| {
        let names: Vec<&str> = names.filter(|name| seen.insert(name)).collect();
        topics.push((topic, names));
    };
    add("At this prompt", &mut console::WORDS.iter().chain(console_bench::WORDS).map(|word| word.name));
    let is_function = |name: &&str| !name.contains('.');
    add("Procedures are written with", &mut bindings::words().map(|word| word.name).filter(is_function));
    let is_property = |name: &&str| name.contains('.');
    add("Answers can be asked", &mut bindings::words().map(|word| word.name).filter(is_property));
    let asked: Vec<&str> =
        bindings::words().filter_map(|word| word.name.split_once('.')).map(|(_, name)| name).collect();
    add("The language itself", &mut entries().keys().map(String::as_str).filter(|name| !asked.contains(name)));
    topics
}

/// What `help()` says: the topics, each on one line, however long.
pub fn index() -> String {
    let mut text = String::from(
        "help(\"name\") says more of a function, of a kind of answer, or of a topic: help(\"wire\").\n\n\
         A number and its unit: 4.75.V, 370.mV, 2.2.kohm, 5.pct, 25.degC, 0.75.mm2, 40.min\n\
         The other way round: q.mV is the number of millivolts in q.\n\
         The last result: last\n\n",
    );
    for (topic, names) in topics() {
        let more = match names.len().saturating_sub(NAMES_OF_A_TOPIC) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let first: Vec<&str> = names.into_iter().take(NAMES_OF_A_TOPIC).collect();
        text.push_str(&format!("{topic}: {}{more}\n", first.join(", ")));
    }
    text.trim_end().to_owned()
}

/// A topic by a word of its name, or the beginning of one: its functions, each with what it does.
fn of_topic(name: &str) -> Option<String> {
    let wanted = name.to_lowercase();
    let is_meant = |topic: &str| {
        let topic = topic.to_lowercase();
        topic == wanted || wanted.len() > 2 && topic.split([' ', '-']).any(|word| word.starts_with(&wanted))
    };
    let (topic, names) = topics().into_iter().find(|(topic, _)| is_meant(topic))?;
    let line = |name: &str| match electrical::find(name) {
        Some(helper) => format!("  {name}: {}", helper.summary()),
        None => {
            let property = name.rsplit('.').next().unwrap_or(name);
            let of_it = |entry: &&Entry| !name.contains('.') || entry.signature.starts_with(name);
            let doc = entries().get(property).and_then(|list| list.iter().find(of_it)).map_or("", |entry| &entry.doc);
            format!("  {name}: {doc}")
        }
    };
    Some(format!("{topic}\n{}", names.into_iter().map(line).collect::<Vec<_>>().join("\n")))
}

/// What `help("name")` says.
pub fn of(name: &str) -> String {
    let name = name.trim().trim_end_matches("()");
    if let Some(helper) = electrical::find(name) {
        return format!("{}\n{}", helper.signature(), paragraphs(helper.lines()).trim_end());
    }
    if let Some(list) = entries().get(name) {
        let of_one = |entry: &Entry| format!("{}\n  {}", entry.signature, entry.doc);
        return list.iter().map(of_one).collect::<Vec<_>>().join("\n");
    }
    if let Some(text) = of_kind(name).or_else(|| of_topic(name)) {
        return text;
    }
    let helpers = HELPERS.iter().flat_map(|topic| topic.iter()).map(|helper| helper.name);
    let nearest = words::nearest(name, entries().keys().map(String::as_str).chain(helpers));
    format!("nothing here is called `{name}`{}", words::did_you_mean(nearest.as_deref()))
}

/// A doc comment's lines with each paragraph on one, for screens of every width; examples as they are.
fn paragraphs<'a>(lines: impl Iterator<Item = &'a str>) -> String {
    let mut text = String::new();
    let mut in_example = false;
    for line in lines {
        if line.trim_start().starts_with("```") {
            in_example = !in_example;
            continue;
        }
        let goes_on = !in_example && !line.is_empty() && !text.is_empty() && !text.ends_with('\n');
        if goes_on {
            text.push(' ');
        } else if !text.is_empty() && (in_example || line.is_empty()) && !text.ends_with('\n') {
            text.push('\n');
        }
        text.push_str(line.trim());
        if in_example || line.is_empty() {
            text.push('\n');
        }
    }
    text
}

/// Every word that is known with its kinds: of the language and of the prompt.
fn every_word() -> impl Iterator<Item = &'static Word> {
    bindings::words().chain(console::WORDS).chain(console_bench::WORDS)
}

/// Kinds of values that have a page of help: what gives them, what takes them, what they can be asked.
pub fn kinds() -> BTreeSet<&'static str> {
    let named =
        |kind: &&str| kind.starts_with(|c: char| c.is_ascii_uppercase()) && !matches!(*kind, "String" | "Array");
    every_word().filter_map(|word| word.kinds.last().copied()).filter(named).collect()
}

fn of_kind(name: &str) -> Option<String> {
    let kind = *kinds().get(name)?;
    let functions = |fits: &dyn Fn(&Word) -> bool| {
        let mut names: Vec<&str> =
            every_word().filter(|word| !word.name.contains('.') && fits(word)).map(|word| word.name).collect();
        names.sort_unstable();
        names.dedup();
        names.join(", ")
    };
    let gives = functions(&|word| word.kinds.last() == Some(&kind));
    let takes =
        functions(&|word| word.kinds.iter().rev().skip(1).any(|argument| argument.rsplit(": ").next() == Some(kind)));
    let mut text = if gives.is_empty() { name.to_owned() } else { format!("{name}: what these give: {gives}") };
    if kind == "Quantity" {
        text.push_str("\nA number with its unit: 4.75.V; q.mV is the number of millivolts in q.");
    }
    if !takes.is_empty() {
        text.push_str(&format!("\nIt goes into: {takes}"));
    }
    for word in every_word().filter(|word| word.name.split_once('.').is_some_and(|(of, _)| of == kind)) {
        let entry = Entry::from(word);
        text.push_str(&format!("\n{}\n  {}", entry.signature.trim_start_matches(kind), entry.doc));
    }
    Some(text)
}

/// The ways in which a function can be called, in a line; `None` where there is no such function.
pub fn how_to_call(name: &str) -> Option<String> {
    if let Some(helper) = electrical::find(name) {
        return Some(helper.signature());
    }
    let mut ways: Vec<String> =
        every_word().filter(|word| word.name == name).map(|word| Entry::from(word).signature).collect();
    ways.dedup();
    (!ways.is_empty()).then(|| words::either(&ways))
}
