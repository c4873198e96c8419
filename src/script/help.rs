//! Help at the prompt: the helpers' doc comments, the words of the language and of the prompt, and the engine's functions.

use super::engine_functions::BROUGHT;
use super::function_doc::{FunctionDoc, Kind};
use super::function_docs::every_word;
use super::{console_bench, console_docs};
use crate::electrical::reference::HELPERS;
use crate::electrical::{self};
use crate::model::words;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// One function as it can be called, with its doc comment.
#[derive(Clone, Debug)]
struct Entry {
    signature: String,
    doc: String,
}

impl From<&FunctionDoc> for Entry {
    fn from(word: &FunctionDoc) -> Self {
        Self { signature: word.to_string(), doc: word.doc.to_owned() }
    }
}

fn entries() -> &'static BTreeMap<String, Vec<Entry>> {
    static ENTRIES: OnceLock<BTreeMap<String, Vec<Entry>>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let mut entries: BTreeMap<String, Vec<Entry>> = BTreeMap::new();
        for (name, takes, doc) in BROUGHT.iter().flat_map(|group| group.functions) {
            let signature = format!("{name}: takes {}", words::arguments(takes.iter().copied()));
            entries.entry((*name).to_owned()).or_default().push(Entry { signature, doc: (*doc).to_owned() });
        }
        for word in every_word() {
            entries.entry(word.name.to_owned()).or_default().push(word.into());
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

/// A name in a topic, with what it stands for in a sentence.
type Named = (String, &'static str);

/// Every topic with the names in it: the helpers', then what procedures are written with.
fn topics() -> Vec<(&'static str, Vec<Named>)> {
    let mut topics: Vec<(&str, Vec<Named>)> = Vec::new();
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        let named = (helper.name.to_owned(), helper.summary());
        match topics.last_mut() {
            Some((topic, names)) if *topic == helper.topic => names.push(named),
            _ => topics.push((helper.topic, vec![named])),
        }
    }
    // `sleep` is there only to say that there is none.
    let mut seen: BTreeSet<String> =
        topics.iter().flat_map(|(_, names)| names).map(|(name, _)| name.clone()).chain(["sleep".to_owned()]).collect();
    let mut add = |topic: &'static str, names: &mut dyn Iterator<Item = Named>| {
        topics.push((topic, names.filter(|(name, _)| seen.insert(name.clone())).collect()));
    };
    let named = |word: &'static FunctionDoc| (word.full_name(), word.doc);
    add("At this prompt", &mut console_docs::FUNCTION_DOCS.iter().chain(console_bench::FUNCTION_DOCS).map(named));
    add("Procedures are written with", &mut super::function_docs::functions().map(named));
    add("Answers can be asked", &mut super::function_docs::properties().map(named));
    let asked: BTreeSet<&str> = super::function_docs::properties().map(|property| property.name).collect();
    let of_engine = entries().iter().filter(|(name, _)| !asked.contains(name.as_str()));
    add(
        "The language itself",
        &mut of_engine.filter_map(|(name, list)| Some((name.clone(), list.first()?.doc.as_str()))),
    );
    topics
}

/// What `help()` says: the topics, each on one line, however long.
pub fn index() -> String {
    let mut text = String::from(
        "help(\"name\") says more of a function, of a kind of answer, or of a topic: help(\"wire\").\n\n\
         A number and its unit: 4.75.V, 370.mV, 2.2.kohm, 5.pct, 25.degC, 0.75.mm2, 40.min\n\
         The inverse: q.mV is the number of millivolts in q.\n\
         The last result: last\n\n",
    );
    for (topic, names) in topics() {
        let more = match names.len().saturating_sub(NAMES_OF_A_TOPIC) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let first: Vec<String> = names.into_iter().take(NAMES_OF_A_TOPIC).map(|(name, _)| name).collect();
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
    let lines: Vec<String> = names.iter().map(|(name, doc)| format!("  {name}: {doc}")).collect();
    Some(format!("{topic}\n{}", lines.join("\n")))
}

/// What `help("name")` says.
pub fn of(name: &str) -> String {
    let name = name.trim().trim_end_matches("()");
    if let Some(helper) = electrical::reference::find(name) {
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

/// What gives a kind of value, what takes it, what it can be asked.
fn of_kind(name: &str) -> Option<String> {
    let is_meant = |page: &str| page.eq_ignore_ascii_case(name);
    let kind = Kind::WITH_PAGE.into_iter().find(|kind| kind.page().is_some_and(is_meant))?;
    let name = kind.page()?;
    let functions = |fits: &dyn Fn(&FunctionDoc) -> bool| {
        let names: BTreeSet<&str> =
            every_word().filter(|word| word.of.is_none() && fits(word)).map(|word| word.name).collect();
        names.into_iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
    };
    let gives = functions(&|word| word.gives == kind);
    let takes = functions(&|word| word.takes.iter().any(|(_, taken)| *taken == kind));
    let mut text = format!("{name}: given by {gives}");
    if kind == Kind::Quantity {
        text.push_str("\nA number with its unit: 4.75.V; q.mV is the number of millivolts in q.");
    }
    if !takes.is_empty() {
        text.push_str(&format!("\nTaken by: {takes}"));
    }
    for word in every_word().filter(|word| word.of == Some(kind)) {
        text.push_str(&format!("\n.{} \u{2192} {}\n  {}", word.name, word.gives, word.doc));
    }
    Some(text)
}
