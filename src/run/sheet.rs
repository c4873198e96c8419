//! Answers written down beforehand: an answers file, or one row of a table.

use super::answerer::{Answerer, Heeded, Reply, View};
use super::journal::Durability;
use super::meaning::sweep_texts;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::AnsweredBy;
use crate::model::job::Job;
use crate::model::prompt::{Prompt, Question};
use crate::model::record::SweepReading;
use crate::model::vehicle::{Action, VehicleState};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

/// One answer as written down.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(untagged)]
pub enum Written {
    /// Text, as it would be typed.
    Text(Arc<str>),
    /// `true` for yes.
    YesNo(bool),
    /// A whole number.
    Whole(i64),
    /// A number with a point.
    Number(f64),
    /// Left out, and why.
    Skip {
        /// Why.
        skip: String,
    },
    /// A reading and its confirmation, or the readings of a sweep.
    List(Vec<Written>),
}

impl Written {
    fn texts(&self) -> Vec<String> {
        match self {
            Self::Text(text) => vec![text.to_string()],
            Self::YesNo(yes) => vec![if *yes { "yes" } else { "no" }.to_owned()],
            Self::Whole(number) => vec![number.to_string()],
            Self::Number(number) => vec![number.to_string()],
            Self::List(list) => list.iter().flat_map(Self::texts).collect(),
            Self::Skip { .. } => vec![],
        }
    }

    /// Why it is left out, if it is: as in a table, a reading may also be written `"skip pin broken"`.
    fn reason_to_skip(&self, prompt: &Prompt) -> Option<&str> {
        match self {
            Self::Skip { skip } => Some(skip),
            Self::Text(text) if !matches!(prompt.question, Question::Note | Question::Choice { .. }) => {
                let (word, reason) = text.trim_start().split_at_checked("skip".len())?;
                let is_skip = word.eq_ignore_ascii_case("skip") && reason.starts_with(char::is_whitespace);
                Some(reason.trim()).filter(|reason| is_skip && !reason.is_empty())
            }
            _ => None,
        }
    }

    /// What a list must not hold: it would be lost among the readings.
    fn is_a_skip_in_a_list(&self) -> bool {
        let Self::List(list) = self else { return false };
        list.iter().any(|item| matches!(item, Self::Skip { .. } | Self::List(_)))
    }
}

/// An answers file.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnswersFile {
    /// The procedure that it answers.
    pub procedure: String,
    /// What is known of the job.
    #[serde(default)]
    pub job: Job,
    /// How the vehicle stands.
    #[serde(default)]
    pub vehicle: VehicleState,
    /// By prompt id.
    pub answers: BTreeMap<String, Written>,
}

impl AnswersFile {
    /// The id of an answer in which something would be lost: a list that has more in it than what was typed.
    pub fn unreadable(&self) -> Option<&str> {
        self.answers.iter().find(|(_, written)| written.is_a_skip_in_a_list()).map(|(id, _)| id.as_str())
    }
}

/// Answers by prompt id, in the order of their ids, and which of them a run asked for.
#[derive(Debug)]
struct Answers {
    written: Vec<(String, Written, AtomicBool)>,
    /// Asked for, and not there.
    missing: Mutex<BTreeSet<String>>,
}

/// Which answers a run asked for.
#[derive(Clone, Debug)]
pub struct Used(Arc<Answers>);

impl Used {
    /// Their ids.
    pub fn ids(&self) -> BTreeSet<String> {
        let asked =
            self.0.written.iter().filter(|(.., asked)| asked.load(Ordering::Relaxed)).map(|(id, ..)| id.clone());
        let missing = self.0.missing.lock().map(|missing| missing.clone()).unwrap_or_default();
        asked.chain(missing).collect()
    }
}

/// Answers by prompt id.
pub struct Sheet {
    by: AnsweredBy,
    answers: Arc<Answers>,
}

impl Sheet {
    /// Of an answers file or a table row.
    pub fn new(by: AnsweredBy, answers: BTreeMap<String, Written>) -> Self {
        let written = answers.into_iter().map(|(id, written)| (id, written, AtomicBool::new(false))).collect();
        Self { by, answers: Arc::new(Answers { written, missing: Mutex::default() }) }
    }

    /// What the run asked for, to be looked at afterwards.
    pub fn used(&self) -> Used {
        Used(Arc::clone(&self.answers))
    }

    /// Whether anything is written down for this question.
    pub fn has(&self, prompt: &Prompt) -> bool {
        self.at(prompt).is_some()
    }

    fn at(&self, prompt: &Prompt) -> Option<&(String, Written, AtomicBool)> {
        let found = self.answers.written.binary_search_by(|(id, ..)| id.as_str().cmp(prompt.id.as_str()));
        self.answers.written.get(found.ok()?)
    }

    fn find(&self, prompt: &Prompt) -> Option<&Written> {
        let Some((_, written, asked)) = self.at(prompt) else {
            if let Ok(mut missing) = self.answers.missing.lock() {
                missing.insert(prompt.id.to_string());
            }
            return None;
        };
        asked.store(true, Ordering::Relaxed);
        Some(written)
    }
}

/// A lowest and a highest, and both again: `-12.5 -12.4; -12.5 -12.4`. One semicolon may also part the two.
fn twice(text: &str) -> Option<(&str, &str)> {
    let (first, second) = text.split_once(';')?;
    let both = |text: &str| text.split_whitespace().count() > 1;
    (both(first) && both(second)).then(|| (first.trim(), second.trim()))
}

fn first(texts: Vec<String>) -> Reply {
    texts.into_iter().next().map_or(Reply::Nobody, Reply::text)
}

impl Answerer for Sheet {
    fn answered_by(&self) -> AnsweredBy {
        self.by
    }

    fn durability(&self) -> Durability {
        Durability::AtEnd
    }

    fn caution(&mut self, _rules: &[&Rule]) -> Heeded {
        Heeded::Nobody
    }

    fn act(&mut self, _action: &Action, _view: View<'_>) -> Reply {
        // Whoever wrote the answers down did what the procedure says on the way.
        Reply::enter()
    }

    fn answer(&mut self, prompt: &Prompt, _view: View<'_>) -> Reply {
        match self.find(prompt) {
            None => Reply::Nobody,
            Some(written) => match (written.reason_to_skip(prompt), written, &prompt.question) {
                (Some(reason), ..) => Reply::Skip { reason: reason.to_owned() },
                (_, Written::List(list), Question::LowestHighest { .. }) => {
                    Reply::text(list.iter().flat_map(Written::texts).collect::<Vec<_>>().join(" "))
                }
                (_, Written::Text(text), Question::Reading { .. }) => {
                    // In a table, `0.37; 0.37` is a reading and its confirmation.
                    let first = text.split(';').next().unwrap_or("").trim();
                    if first.len() == text.len() { Reply::Text(Arc::clone(text)) } else { Reply::text(first) }
                }
                (_, Written::Text(text), Question::LowestHighest { .. }) => {
                    Reply::text(twice(text).map_or(&**text, |(first, _)| first))
                }
                _ => first(written.texts()),
            },
        }
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], _view: View<'_>) -> Reply {
        let lines = match self.find(prompt) {
            None => return Reply::Nobody,
            Some(written) => match written.reason_to_skip(prompt) {
                Some(reason) => return Reply::Skip { reason: reason.to_owned() },
                None => written.texts(),
            },
        };
        let Some(unit) = prompt.question.unit() else { return Reply::Nobody };
        // Each line may have one reading or many, and the sweep may have been broken off within one.
        let mut before = so_far.len();
        for line in lines {
            match sweep_texts(&line, unit) {
                Ok(readings) if before < readings.len() => {
                    let rest: Vec<_> = readings[before..]
                        .iter()
                        .map(|reading| SweepReading::as_typed(&reading.text, reading.position.as_deref()))
                        .collect();
                    return Reply::text(rest.join(" "));
                }
                Ok(readings) => before -= readings.len(),
                // Whoever takes it says what is wrong with it.
                Err(_) => return Reply::text(line),
            }
        }
        Reply::enter()
    }

    fn refused(&mut self, _problem: &str) -> bool {
        false
    }

    fn doubt(&mut self, prompt: &Prompt, _typed: &str, _doubt: &Doubt, _view: View<'_>) -> Reply {
        if matches!(prompt.question, Question::LowestHighest { .. }) {
            return match self.find(prompt) {
                Some(Written::Text(text)) => twice(text).map_or(Reply::Nobody, |(_, second)| Reply::text(second)),
                _ => Reply::Nobody,
            };
        }
        match self.find(prompt) {
            Some(Written::List(list)) => list.get(1).map_or(Reply::Nobody, |second| first(second.texts())),
            Some(Written::Text(text)) => match text.split(';').nth(1) {
                Some(second) => Reply::text(second.trim()),
                None => Reply::Nobody,
            },
            _ => Reply::Nobody,
        }
    }
}
