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
    /// Show the faults that are still possible.
    Possible,
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
            "possible" if alone => Some(Self::Possible),
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

const UNDO: [Help; 2] = [
    ("--", "undo: names the last answer, in a sweep the last reading; + undoes it"),
    ("back ID", "undo back to the answer of that name"),
];
const SKIP: Help = ("//", "skip this, with a reason; or skip and the reason");
const MORE: [Help; 6] = [
    (".. or ,,", "menu: why, readings so far, note, change, pause, help, still possible"),
    ("why", "why this step is there"),
    ("change", "an answer was mistyped, or is measured again"),
    ("note …", "write something down"),
    ("possible", "which faults the readings so far exclude, and which are left"),
    ("pause", "pause; `ohmwright resume` goes on"),
];

/// What help lists at every prompt.
pub fn help(can_be_skipped: bool) -> Vec<Help> {
    UNDO.into_iter().chain(can_be_skipped.then_some(SKIP)).chain(MORE).collect()
}

/// What help lists where a caution is read.
pub fn help_at_a_caution() -> Vec<Help> {
    [("+", "you have read it")]
        .into_iter()
        .chain(help(false))
        .chain([("9", "in the menu: stop here, it is not safe")])
        .collect()
}
