//! Help at the prompt: the helpers' doc comments, the words of the language, and what the engine says of its own functions.

use super::words::BROUGHT;
use super::{bindings, console, console_bench};
use crate::model::electrical::{self, HELPERS};
use crate::model::words;
use std::collections::BTreeMap;
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
    let takes = if name.contains('.') { String::new() } else { format!("({})", takes.join(", ")) };
    let result = if result == "()" { String::new() } else { format!(" -> {result}") };
    format!("{name}{takes}{result}")
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
        for word in bindings::words().chain(console::WORDS).chain(console_bench::WORDS) {
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

/// What `help()` says: the helpers by topic, then what procedures are written with.
pub fn index() -> String {
    let options = || textwrap::Options::new(78).initial_indent("  ").subsequent_indent("  ");
    let mut text = String::from("help(\"name\") says more of one.\n\n");
    text.push_str("A number and its unit: 4.75.V, 370.mV, 2.2.kohm, 5.pct, 25.degC, 0.75.mm2, 40.min\n");
    text.push_str("The other way round: q.mV is the number of millivolts in q. The last result: last\n");
    let mut last_topic = "";
    let mut names: Vec<&str> = Vec::new();
    let flush = |text: &mut String, topic: &str, names: &mut Vec<&str>| {
        if !names.is_empty() {
            text.push_str(&format!("\n{topic}\n{}\n", textwrap::fill(&names.join(", "), options())));
            names.clear();
        }
    };
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        if helper.topic != last_topic {
            flush(&mut text, last_topic, &mut names);
            last_topic = helper.topic;
        }
        names.push(helper.name);
    }
    flush(&mut text, last_topic, &mut names);
    let mut seen: Vec<&str> = HELPERS.iter().flat_map(|topic| topic.iter()).map(|helper| helper.name).collect();
    let mut others: Vec<&str> = bindings::words().map(|word| word.name).filter(|name| !name.contains('.')).collect();
    others.dedup();
    seen.extend(&others);
    flush(&mut text, "What procedures are written with", &mut others);
    let mut of_answers: Vec<&str> = bindings::words().map(|word| word.name).filter(|name| name.contains('.')).collect();
    seen.extend(of_answers.iter().filter_map(|name| name.rsplit('.').next()));
    flush(&mut text, "What an answer can be asked", &mut of_answers);
    let mut here: Vec<&str> = console::WORDS.iter().chain(console_bench::WORDS).map(|word| word.name).collect();
    here.dedup();
    here.retain(|name| !seen.contains(name));
    seen.extend(&here);
    flush(&mut text, "At this prompt: procedures and simulated circuits", &mut here);
    let mut rest: Vec<&str> = entries().keys().map(String::as_str).filter(|name| !seen.contains(name)).collect();
    flush(&mut text, "The language itself", &mut rest);
    text.trim_end().to_owned()
}

/// What `help("name")` says.
pub fn of(name: &str) -> String {
    let name = name.trim().trim_end_matches("()");
    if let Some(helper) = electrical::find(name) {
        let lines: Vec<_> = helper.lines().filter(|line| !line.trim_start().starts_with("```")).collect();
        return format!("{}\n{}", helper.signature(), lines.join("\n").trim_end());
    }
    match entries().get(name) {
        Some(list) => {
            let signatures: Vec<_> = list.iter().map(|entry| entry.signature.clone()).collect();
            let mut docs: Vec<&str> = list.iter().map(|entry| entry.doc.as_str()).collect();
            docs.dedup();
            format!("{}\n{}", signatures.join("\n"), docs.join("\n"))
        }
        None => {
            let helpers = HELPERS.iter().flat_map(|topic| topic.iter()).map(|helper| helper.name);
            let nearest = words::nearest(name, entries().keys().map(String::as_str).chain(helpers));
            format!("nothing here is called `{name}`{}", words::did_you_mean(nearest.as_deref()))
        }
    }
}
