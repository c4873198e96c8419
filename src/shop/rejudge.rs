//! Old records judged by a newer revision of their procedure.

use crate::model::diagnostic::Diagnostic;
use crate::model::limits::Verdict;
use crate::model::prompt::{Prompt, Question};
use crate::model::record::RunStatus;
use crate::model::record::given::SweepReading;
use crate::model::typed::Shown;
use crate::records::bounded;
use crate::records::journal_file::parse;
use crate::records::numbers::is_number;
use crate::records::store::{JOURNAL, Store};
use crate::report::entry::{ending_text, verdict_text};
use crate::report::record::standing_text;
use crate::report::sweep::sweep_text;
use crate::script::execute::{EntryPoint, Outcome};
use crate::script::judge::{Judge, Over, Rejudged};
use crate::shop::error::ShopError;
use crate::shop::examine::meter_on;
use crate::shop::loaded::Loaded;
use crate::shop::workers::workers;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Judges the record in this folder; nothing if it is of another procedure than the one that is `wanted`.
pub fn over(loaded: &Loaded, store: &Store, path: &Path, wanted: Option<&str>) -> Result<Option<Over>, ShopError> {
    let journal = path.join(JOURNAL);
    let back = parse(&journal, bounded::journal(&journal)?)?;
    let no_start = |error| ShopError::file(&journal, error);
    let started = match back.entries.first().map(|entry| &entry.event) {
        Some(crate::model::event::Event::Started(started)) => started.clone(),
        _ => return Err(no_start(crate::model::record::NoStart)),
    };
    if wanted.is_some_and(|wanted| wanted != started.name()) {
        return Ok(None);
    }
    if EntryPoint::of(&started) == EntryPoint::AfterRepair && !loaded.procedure.has_after_repair() {
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
                && judgement(&now.prompt, now.verdict, (&then.sweep, &now.shown))
                    != judgement(&then.prompt, then.verdict, (&then.sweep, &then.shown)))
    })
}

/// The verdict in words; of a sweep, whether it follows.
pub fn judgement(
    prompt: &Prompt,
    verdict: Option<Verdict>,
    (sweep, shown): (&[SweepReading], &[Option<Shown>]),
) -> String {
    match &prompt.question {
        Question::Sweep { ends, .. } => sweep_text(sweep, shown, ends),
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

/// The result of a record in a folder.
pub struct Row {
    /// Its name.
    pub record: String,
    /// How it compares.
    pub result: Compared,
    /// How many verdicts differ.
    pub verdicts: usize,
    /// The prompts whose verdicts differ.
    pub which: String,
    /// Its result at the time.
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

/// The record that is judged again.
pub enum Given {
    /// One record.
    Record {
        /// Its whole name, though a part of it may have been typed.
        name: String,
        /// The folder of records that it lies in.
        store: Store,
        /// Its folder.
        path: PathBuf,
    },
    /// A folder of records.
    Folder(Store),
}

/// A record by name or path, or a folder of records.
pub fn given(store: &Store, typed: &str) -> Result<Given, ShopError> {
    let path = Path::new(typed);
    let named = is_number(typed) || store.folder().join(typed).join(JOURNAL).is_file();
    if !named && path.is_dir() && !path.join(JOURNAL).is_file() {
        return Ok(Given::Folder(Store::new(path.to_owned())));
    }
    let path = store.path_of(typed)?;
    let name = path.file_name().map_or_else(|| typed.to_owned(), |name| name.to_string_lossy().into_owned());
    Ok(Given::Record { name, store: Store::of(&path), path })
}

/// Records that are worked on at a time: memory does not grow with the folder.
const CHUNK: usize = 1024;
/// Different errors of the procedure that are kept at most.
const ERRORS_KEPT: usize = 5;
/// Rows that are kept at most.
const KEPT: usize = 60;

/// The result of a folder of records.
#[derive(Default)]
pub struct FolderJudged {
    /// How many were judged.
    pub judged: usize,
    /// How many are of other procedures.
    pub others: usize,
    /// How many compare in which way.
    pub tally: BTreeMap<Compared, usize>,
    /// The first of those that differ.
    pub shown: Vec<Row>,
    /// Each error of the procedure once: a hundred records come to the same one.
    pub failed: Vec<Diagnostic>,
}

impl FolderJudged {
    fn add(&mut self, row: Row) {
        self.judged += 1;
        *self.tally.entry(row.result).or_default() += 1;
        if let Some(diagnostic) = &row.failed
            && self.failed.len() < ERRORS_KEPT
            && !self.failed.contains(diagnostic)
        {
            self.failed.push((**diagnostic).clone());
        }
        if row.result != Compared::Same && self.shown.len() < KEPT {
            self.shown.push(row);
        }
    }
}

/// Judges the records of a folder: those of the procedure itself, or of the one that they are `of`.
///
/// # Errors
/// There is none, or the summary can't be written.
pub fn folder(
    loaded: &Loaded,
    store: &Store,
    of: Option<&str>,
    summary: Option<&Path>,
) -> Result<FolderJudged, ShopError> {
    let wanted = of.unwrap_or(&loaded.procedure.name);
    let pool = workers()?;
    let mut summary = summary.map(Summary::begin).transpose()?;
    let mut judged = FolderJudged::default();
    for chunk in store.names()?.chunks(CHUNK) {
        let judge = |name: &String| {
            let found = over(loaded, store, &store.folder().join(name), Some(wanted)).transpose();
            found.map(|found| Row::of(name, found))
        };
        let rows: Vec<Option<Row>> = pool.install(|| chunk.par_iter().map(judge).collect());
        for row in rows {
            let Some(row) = row else {
                judged.others += 1;
                continue;
            };
            if let Some(summary) = &mut summary {
                summary.row(&row)?;
            }
            judged.add(row);
        }
    }
    if let Some(mut summary) = summary {
        summary.0.flush()?;
    }
    if judged.judged == 0 {
        return Err(ShopError::refused_with(
            format!("there is no record of `{wanted}` in {}", store.folder().display()),
            "name the procedure whose records are meant with --of",
        ));
    }
    Ok(judged)
}

/// The summary, a line a record.
struct Summary(csv::Writer<std::fs::File>);

fn wrong(error: csv::Error) -> ShopError {
    ShopError::Files(error.to_string())
}

impl Summary {
    fn begin(path: &Path) -> Result<Self, ShopError> {
        let mut writer = csv::Writer::from_path(path).map_err(wrong)?;
        writer.write_record(["record", "result", "verdicts_differ", "which", "then", "now"]).map_err(wrong)?;
        Ok(Self(writer))
    }

    fn row(&mut self, row: &Row) -> Result<(), ShopError> {
        let verdicts = row.verdicts.to_string();
        self.0.write_record([&row.record, row.result.word(), &verdicts, &row.which, &row.then, &row.now]).map_err(wrong)
    }
}
