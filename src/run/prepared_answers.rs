//! Answers written down beforehand: an answers file, or one row of a table.

use super::answerer::Answerer;
use super::meaning::sweep_texts;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::model::answered_by::AnsweredBy;
use crate::model::job::Job;
use crate::model::origin::Origin;
use crate::model::prompt::{Prompt, PromptId, Question};
use crate::model::record::given::SweepReading;
use crate::model::vehicle::VehicleState;
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

    /// The text of this number, from 0, of those of a sweep.
    fn line(&self, number: usize) -> Option<String> {
        match self {
            Self::List(list) => list.get(number).map(|line| line.texts().join(" ")),
            one if number == 0 => one.texts().pop(),
            _ => None,
        }
    }

    /// A reading and what confirms it: in a table, `0.37; 0.37`.
    fn entries(&self) -> Vec<String> {
        match self {
            Self::Text(text) => text.split(';').map(|entry| entry.trim().to_owned()).collect(),
            other => other.texts(),
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

/// One answer, and what became of it.
#[derive(Debug)]
struct Line {
    id: String,
    written: Written,
    asked: AtomicBool,
    /// It was given as a reading.
    is_reading: AtomicBool,
    /// Its second entry was asked for.
    doubted: AtomicBool,
}

/// Answers by prompt id, in the order of their ids, and which of them a run asked for.
#[derive(Debug)]
struct Answers {
    written: Vec<Line>,
    /// Asked for, and not there.
    missing: Mutex<BTreeSet<String>>,
}

/// Which answers a run asked for.
#[derive(Clone, Debug)]
pub struct Used(Arc<Answers>);

impl Used {
    /// Their ids.
    pub fn ids(&self) -> BTreeSet<String> {
        let asked = self.0.written.iter().filter(|line| line.asked.load(Ordering::Relaxed)).map(|line| line.id.clone());
        let missing = self.0.missing.lock().map(|missing| missing.clone()).unwrap_or_default();
        asked.chain(missing).collect()
    }

    /// Readings of which not all that is written is used: a second entry, which is another, where the first was not doubted; or
    /// more than two. In words.
    pub fn not_used(&self) -> Vec<(String, String)> {
        let is_over = |line: &&Line| line.is_reading.load(Ordering::Relaxed) && !line.doubted.load(Ordering::Relaxed);
        let words = |line: &Line| match line.written.entries().as_slice() {
            [first, second] if first != second && !second.is_empty() => {
                Some((line.id.clone(), format!("{first} was not doubted; {second} is not used")))
            }
            [_, _, _, ..] => {
                let words =
                    "more than two entries are written for one reading: write it, and a second time if it is doubted";
                Some((line.id.clone(), words.to_owned()))
            }
            _ => None,
        };
        self.0.written.iter().filter(is_over).filter_map(words).collect()
    }
}

/// Answers by prompt id.
pub struct PreparedAnswers {
    origin: Origin,
    answers: Arc<Answers>,
    /// Where the sweep that goes on is: its prompt, a line of what is written for it, and how many readings come before that.
    sweep: Option<(PromptId, usize, usize)>,
    /// What was given last can't be taken, and nothing else is written down.
    refused: bool,
}

impl PreparedAnswers {
    /// Of an answers file or a table row.
    pub fn new(by: AnsweredBy, answers: BTreeMap<String, Written>) -> Self {
        let no = || AtomicBool::new(false);
        let line = |(id, written)| Line { id, written, asked: no(), is_reading: no(), doubted: no() };
        let written = answers.into_iter().map(line).collect();
        let origin = if by == AnsweredBy::Table { Origin::Table } else { Origin::File };
        let answers = Arc::new(Answers { written, missing: Mutex::default() });
        Self { origin, answers, sweep: None, refused: false }
    }

    /// What the run asked for, to be looked at afterwards.
    pub fn used(&self) -> Used {
        Used(Arc::clone(&self.answers))
    }

    /// Whether anything is written down for this question.
    pub fn has(&self, prompt: &Prompt) -> bool {
        self.at(prompt).is_some()
    }

    fn at(&self, prompt: &Prompt) -> Option<&Line> {
        let found = self.answers.written.binary_search_by(|line| line.id.as_str().cmp(prompt.id.as_str()));
        self.answers.written.get(found.ok()?)
    }

    fn find(&self, prompt: &Prompt) -> Option<&Line> {
        let Some(line) = self.at(prompt) else {
            if let Ok(mut missing) = self.answers.missing.lock() {
                missing.insert(prompt.id.to_string());
            }
            return None;
        };
        line.asked.store(true, Ordering::Relaxed);
        Some(line)
    }
}

/// A lowest and a highest, and both again: `-12.5 -12.4; -12.5 -12.4`. One semicolon may also part the two.
fn twice(text: &str) -> Option<(&str, &str)> {
    let (first, second) = text.split_once(';')?;
    let both = |text: &str| text.split_whitespace().count() > 1;
    (both(first) && both(second)).then(|| (first.trim(), second.trim()))
}

/// The one text; of several none is left out, so that whoever takes it says what is wrong with it.
fn one(texts: &[String]) -> Form {
    if texts.is_empty() { Form::Nobody } else { Form::text(texts.join("; ")) }
}

impl PreparedAnswers {
    fn answer(&mut self, prompt: &Prompt) -> Form {
        let Some(line) = self.find(prompt) else { return Form::Nobody };
        match (line.written.reason_to_skip(prompt), &line.written, &prompt.question) {
            (Some(reason), ..) => Form::Skip { reason: reason.to_owned() },
            (_, Written::List(list), Question::LowestHighest { .. }) => {
                Form::text(list.iter().flat_map(Written::texts).collect::<Vec<_>>().join(" "))
            }
            (_, Written::Text(text), Question::LowestHighest { .. }) => {
                Form::text(twice(text).map_or(&**text, |(first, _)| first))
            }
            (_, Written::Text(text), Question::Reading { .. }) if !text.contains(';') => Form::Text(Arc::clone(text)),
            (_, written, Question::Reading { .. }) => {
                line.is_reading.store(true, Ordering::Relaxed);
                match written.entries().as_slice() {
                    // A reading and its confirmation.
                    [first, _] => Form::text(first.as_str()),
                    entries => one(entries),
                }
            }
            (_, written, _) => one(&written.texts()),
        }
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading]) -> Form {
        // What was gone through for the reading before is not read again.
        let (from, passed) = match &self.sweep {
            Some((id, line, before)) if *id == prompt.id && *before <= so_far.len() => (*line, *before),
            _ => (0, 0),
        };
        let Some(line) = self.find(prompt) else { return Form::Nobody };
        if let Some(reason) = line.written.reason_to_skip(prompt) {
            return Form::Skip { reason: reason.to_owned() };
        }
        let Some(unit) = prompt.question.unit() else { return Form::Nobody };
        // Each line may have one reading or many, and the sweep may have been broken off within one.
        let mut before = so_far.len() - passed;
        let mut number = from;
        while let Some(text) = line.written.line(number) {
            match sweep_texts(&text, unit) {
                Ok(readings) if before < readings.len() => {
                    let rest: Vec<_> = readings[before..]
                        .iter()
                        .map(|(reading, _)| SweepReading::as_typed(&reading.text, reading.position.as_deref()))
                        .collect();
                    self.sweep = Some((prompt.id.clone(), number, so_far.len() - before));
                    return Form::text(rest.join(" "));
                }
                Ok(readings) => before -= readings.len(),
                // Whoever takes it says what is wrong with it.
                Err(_) => return Form::text(text),
            }
            number += 1;
        }
        Form::enter()
    }

    fn doubt(&mut self, prompt: &Prompt) -> Form {
        let Some(line) = self.find(prompt) else { return Form::Nobody };
        if matches!(prompt.question, Question::LowestHighest { .. }) {
            return match &line.written {
                Written::Text(text) => twice(text).map_or(Form::Nobody, |(_, second)| Form::text(second)),
                _ => Form::Nobody,
            };
        }
        line.doubted.store(true, Ordering::Relaxed);
        line.written.entries().into_iter().nth(1).map_or(Form::Nobody, Form::text)
    }
}

impl Answerer for PreparedAnswers {
    fn ask(&mut self, request: Request<'_>, _view: View<'_>) -> Reply {
        let form = match request {
            Request::Answer { .. } | Request::NextOfSweep { .. } | Request::Doubt { .. }
                if std::mem::take(&mut self.refused) =>
            {
                Form::Nobody
            }
            Request::Answer { prompt } => self.answer(prompt),
            Request::NextOfSweep { prompt, so_far } => self.next_of_sweep(prompt, so_far),
            Request::Doubt { prompt, .. } => self.doubt(prompt),
            // Whoever wrote the answers down did what the procedure says on the way.
            Request::Act { .. } | Request::LeftOut { .. } => Form::enter(),
            Request::Caution { .. }
            | Request::PutBack { .. }
            | Request::Needs { .. }
            | Request::Conclude { .. }
            | Request::WaitCutShort { .. }
            | Request::ConfirmVehicle { .. } => Form::Nobody,
        };
        form.from(self.origin.clone())
    }

    fn notice(&mut self, notice: Notice<'_>) {
        self.refused = matches!(notice, Notice::Refused { .. });
    }
}
