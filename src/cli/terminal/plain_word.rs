//! The plain words, which stand for themselves at every prompt.

use crate::model::prompt::PromptId;
use std::collections::BTreeSet;

/// One of them, as it was typed.
#[derive(Debug, PartialEq, Eq)]
pub enum PlainWord {
    /// Why the step is there.
    Why,
    /// What can be typed.
    Help,
    /// Put the run down.
    Pause,
    /// Take back; with the id, where one was typed.
    Back(Option<PromptId>),
    /// Leave out; with the reason, or empty.
    Skip(String),
    /// Write down; with the words, or empty.
    Note(String),
    /// Change an answer; with the id, or empty.
    Change(String),
}

impl PlainWord {
    /// Which one was typed, if one. At a note, where all else is text, a word with something behind it is text, too, but for
    /// `skip` and a reason, and `back` and the id of one that was `answered`.
    pub fn of(typed: &str, free_text: bool, answered: &BTreeSet<PromptId>) -> Option<Self> {
        let (word, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let rest = rest.trim();
        let alone = rest.is_empty();
        match word.to_lowercase().as_str() {
            "why" if alone => Some(Self::Why),
            "help" | "?" if alone => Some(Self::Help),
            "pause" if alone => Some(Self::Pause),
            "back" if alone => Some(Self::Back(None)),
            "back" => {
                let id = PromptId::new(rest);
                (!free_text || answered.contains(&id)).then_some(Self::Back(Some(id)))
            }
            "change" if alone || !free_text || answered.contains(&PromptId::new(rest)) => {
                Some(Self::Change(rest.to_owned()))
            }
            "skip" => Some(Self::Skip(rest.to_owned())),
            "note" if alone || !free_text => Some(Self::Note(rest.to_owned())),
            _ => None,
        }
    }
}

/// What can be typed, and what it is for.
type Help = (&'static str, &'static str);

const BEFORE_NOTE: [Help; 4] = [
    ("why", "why this step is there"),
    ("back", "take the last answer back, in a sweep its last reading; `back ID` goes further back"),
    ("change", "an answer was mistyped, or is measured again"),
    ("skip …", "leave this one out, and say why"),
];
const PAUSE: Help = ("pause", "put it down; `ohmwright resume` goes on");
const AT_A_NOTE: [Help; 1] = [("\"skip …\"", "in quotation marks: text that begins with one of these words")];
const ELSEWHERE: [Help; 2] = [
    ("OL or *", "the meter shows over range"),
    ("370m, 1.2M", "a number with its prefix; a number alone is in the unit shown"),
];

/// What help lists where a caution is read, a row for each.
pub fn help_at_a_caution(read_key: &str) -> Vec<Vec<String>> {
    [
        (read_key, "confirm it"),
        ("why", "its source"),
        ("back", "take the last answer back; `back ID` goes further back"),
        PAUSE,
    ]
    .iter()
    .map(|(word, meaning)| vec![(*word).to_owned(), (*meaning).to_owned()])
    .collect()
}

/// What help lists, a row for each.
pub fn help(free_text: bool) -> Vec<Vec<String>> {
    let note = (if free_text { "note" } else { "note …" }, "write something down");
    let here: &[Help] = if free_text { &AT_A_NOTE } else { &ELSEWHERE };
    BEFORE_NOTE
        .iter()
        .chain(&[note, PAUSE])
        .chain(here)
        .map(|(word, meaning)| vec![(*word).to_owned(), (*meaning).to_owned()])
        .collect()
}
