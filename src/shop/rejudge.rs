//! Old records judged by a newer revision of their procedure.

use crate::model::diagnostic::Diagnostic;
use crate::model::limits::Verdict;
use crate::model::prompt::{Prompt, Question};
use crate::model::record::{RunStatus, SweepReading};
use crate::records::journal_file::parse;
use crate::records::store::{JOURNAL, Store};
use crate::report::entry::{ending_text, verdict_text};
use crate::report::record::{standing_text, sweep_text};
use crate::script::execute::{EntryPoint, Outcome};
use crate::script::judge::{Judge, Over, Rejudged, entry_point_of};
use crate::shop::error::ShopError;
use crate::shop::examine::meter_on;
use crate::shop::loaded::Loaded;
use std::path::Path;

/// Judges the record in this folder; nothing if it is of another procedure than the one that is `wanted`.
pub fn over(loaded: &Loaded, store: &Store, path: &Path, wanted: Option<&str>) -> Result<Option<Over>, ShopError> {
    let journal = path.join(JOURNAL);
    let back = parse(&journal, fs_err::read(&journal)?)?;
    let no_start = |error| ShopError::file(&journal, error);
    let started = match back.entries.first().map(|entry| &entry.event) {
        Some(crate::model::event::Event::Started(started)) => started.clone(),
        _ => return Err(no_start(crate::model::record::NoStart)),
    };
    if wanted.is_some_and(|wanted| wanted != started.name()) {
        return Ok(None);
    }
    if entry_point_of(&started) == EntryPoint::AfterRepair && !loaded.procedure.has_after_repair() {
        return Err(ShopError::refused(format!(
            "{} is a check after the repair, and `{}` has none",
            path.display(),
            loaded.procedure.name
        )));
    }
    let meter = |day: Option<jiff::civil::Date>| meter_on(store, &started, day);
    let judge =
        Judge { procedure: &loaded.procedure, points: loaded.points.as_ref(), rules: &loaded.rules, meter: &meter };
    judge.over(back.entries).map(Some).map_err(no_start)
}

/// How the newer procedure comes out, in a sentence.
pub fn outcome_text(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Concluded(causes) => {
            causes.iter().map(|cause| cause.cause.as_str()).collect::<Vec<_>>().join("; or: ")
        }
        Outcome::Ended(ending) => ending_text(ending),
        Outcome::Waiting { prompt, text, problem: None } => format!("would still ask `{prompt}`: {text}"),
        Outcome::Waiting { prompt, problem: Some(problem), .. } => format!("would ask `{prompt}` again: {problem}"),
        Outcome::Paused => "would stop".to_owned(),
        Outcome::Diverged { .. } => "would go another way".to_owned(),
        Outcome::Failed(diagnostic) => format!("has an error: {}", diagnostic.title),
        Outcome::Journal(problem) => problem.clone(),
    }
}

/// Whether it comes out as recorded.
pub fn same_outcome(over: &Over) -> bool {
    match (&over.record.status, &over.outcome) {
        (RunStatus::Concluded(then), Outcome::Concluded(now)) => {
            then.iter().map(|cause| &cause.id).eq(now.iter().map(|cause| &cause.id))
        }
        (RunStatus::Ended(then), Outcome::Ended(now)) => then.is_the_same_as(now),
        (RunStatus::Waiting { prompt: then, .. }, Outcome::Waiting { prompt: now, .. }) => then == now,
        // A run that was put down has no prompt to its name.
        (RunStatus::Open, Outcome::Waiting { .. }) => true,
        _ => false,
    }
}

/// Whether a verdict differs.
pub fn differs(Rejudged { then, now }: &Rejudged<'_>) -> bool {
    now.is_some_and(|now| {
        let sweep = matches!(then.prompt.question, Question::Sweep { .. });
        now.verdict != then.verdict
            || (sweep
                && judgement(&now.prompt, now.verdict, &then.sweep)
                    != judgement(&then.prompt, then.verdict, &then.sweep))
    })
}

/// The verdict in words; of a sweep, whether it follows.
pub fn judgement(prompt: &Prompt, verdict: Option<Verdict>, sweep: &[SweepReading]) -> String {
    match &prompt.question {
        Question::Sweep { ends, .. } => sweep_text(sweep, ends),
        _ => verdict_text(verdict),
    }
}

/// How a record compares, in a word or two.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Compared {
    /// It can't be judged by this procedure.
    NotJudged,
    /// It comes to something else.
    OtherOutcome,
    /// It comes to the same, with other verdicts on the way.
    OtherVerdicts,
    /// Nothing differs.
    Same,
    /// The procedure asks for what the record has not.
    WouldAskMore,
}

impl Compared {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotJudged => "can't be judged",
            Self::OtherOutcome => "other outcome",
            Self::OtherVerdicts => "other verdicts",
            Self::Same => "same",
            Self::WouldAskMore => "would ask more",
        }
    }
}

/// What came of a record in a folder.
pub struct Row {
    /// Its name.
    pub record: String,
    /// How it compares.
    pub result: Compared,
    /// How many verdicts differ.
    pub verdicts: usize,
    /// The prompts whose verdicts differ.
    pub which: String,
    /// What it came to.
    pub then: String,
    /// What it comes to now, or why it can't be judged.
    pub now: String,
    /// The error that the procedure came to.
    pub failed: Option<Box<Diagnostic>>,
}

impl Row {
    /// Of a record that was judged, or could not be.
    pub fn of(record: &str, found: Result<Over, ShopError>) -> Self {
        match found {
            Err(error) => Self {
                record: record.to_owned(),
                result: Compared::NotJudged,
                verdicts: 0,
                which: String::new(),
                then: String::new(),
                now: error.to_string(),
                failed: None,
            },
            Ok(over) => {
                let which: Vec<_> =
                    over.answers().filter(differs).map(|rejudged| rejudged.then.prompt.id.to_string()).collect();
                let result = if !same_outcome(&over) {
                    if matches!(over.outcome, Outcome::Waiting { .. }) {
                        Compared::WouldAskMore
                    } else {
                        Compared::OtherOutcome
                    }
                } else if which.is_empty() {
                    Compared::Same
                } else {
                    Compared::OtherVerdicts
                };
                Self {
                    record: record.to_owned(),
                    result,
                    verdicts: which.len(),
                    which: which.join(", "),
                    then: standing_text(&over.record.status),
                    now: outcome_text(&over.outcome),
                    failed: match over.outcome {
                        Outcome::Failed(diagnostic) => Some(diagnostic),
                        _ => None,
                    },
                }
            }
        }
    }
}
