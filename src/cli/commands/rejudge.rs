//! `rejudge`: a newer revision of a procedure over the answers of old records, which stay as they are.

use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::examine::meter_on;
use crate::cli::exit::Exit;
use crate::cli::journal_file::parse;
use crate::cli::settings::Settings;
use crate::cli::start::Loaded;
use crate::cli::store::{JOURNAL, Store};
use crate::cli::terminal::output::Output;
use crate::model::diagnostic::Diagnostic;
use crate::model::limits::Verdict;
use crate::model::prompt::{Prompt, Question};
use crate::model::record::{RunStatus, SweepReading};
use crate::model::words;
use crate::report::entry::{Tone, answer_text, ending_text, limits_text, verdict_text};
use crate::report::record::standing_text;
use crate::report::sweep::sweep_text;
use crate::report::table::{harmless, table, wrapped};
use crate::script::execute::{EntryPoint, Outcome};
use crate::script::judge::{Judge, Over, Rejudged, entry_point_of};
use rayon::prelude::*;
use std::path::Path;

/// Records that are worked on at a time: memory does not grow with the folder.
const CHUNK: usize = 1024;
/// Different errors of the procedure that are shown at most.
const ERRORS_SHOWN: usize = 5;
/// Rows that the table on the screen shows at most.
const SHOWN: usize = 60;

/// Judges old records by a newer procedure.
pub fn rejudge(settings: &Settings, arguments: &arguments::Rejudge, output: &mut Output) -> Result<Exit, CliError> {
    let loaded = Loaded::find(settings, &arguments.procedure)?;
    let given = Path::new(&arguments.record);
    let named = settings.store.folder().join(&arguments.record).join(JOURNAL).is_file();
    if !named && given.is_dir() && !given.join(JOURNAL).is_file() {
        return folder(&loaded, &Store::new(given.to_owned()), arguments, output);
    }
    let path = settings.store.path_of(&arguments.record)?;
    let Some(over) = over(&loaded, &Store::of(&path), &path, None)? else { return Ok(Exit::Done) };
    // Whole, though a part of it may have been typed.
    let name = path.file_name().map_or_else(|| arguments.record.clone(), |name| name.to_string_lossy().into_owned());
    one(&name, &loaded, &over, output);
    match over.outcome {
        Outcome::Failed(diagnostic) => Err(CliError::input(*diagnostic)),
        _ => Ok(Exit::Done),
    }
}

/// Judges the record in this folder; nothing if it is of another procedure than the one that is `wanted`.
fn over(loaded: &Loaded, store: &Store, path: &Path, wanted: Option<&str>) -> Result<Option<Over>, CliError> {
    let journal = path.join(JOURNAL);
    let back = parse(&journal, fs_err::read(&journal)?)?;
    let no_start = |error| CliError::file(&journal, error);
    let started = match back.entries.first().map(|entry| &entry.event) {
        Some(crate::model::event::Event::Started(started)) => started.clone(),
        _ => return Err(no_start(crate::model::record::NoStart)),
    };
    if wanted.is_some_and(|wanted| wanted != started.procedure) {
        return Ok(None);
    }
    if entry_point_of(&started) == EntryPoint::AfterRepair && !loaded.procedure.has_after_repair() {
        return Err(CliError::usage(format!(
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
fn outcome_text(outcome: &Outcome) -> String {
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
fn same_outcome(over: &Over) -> bool {
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

fn differs(Rejudged { then, now }: &Rejudged<'_>) -> bool {
    now.is_some_and(|now| {
        let sweep = matches!(then.prompt.question, Question::Sweep { .. });
        now.verdict != then.verdict
            || (sweep
                && judgement(&now.prompt, now.verdict, &then.sweep)
                    != judgement(&then.prompt, then.verdict, &then.sweep))
    })
}

/// The verdict in words; of a sweep, whether it follows.
fn judgement(prompt: &Prompt, verdict: Option<Verdict>, sweep: &[SweepReading]) -> String {
    match &prompt.question {
        Question::Sweep { ends, .. } => sweep_text(sweep, &SweepReading::shown(sweep, ends.unit), ends),
        _ => verdict_text(verdict),
    }
}

fn one(name: &str, loaded: &Loaded, over: &Over, output: &mut Output) {
    let width = output.width();
    let header = &loaded.procedure.header;
    let heading = format!(
        "{name}, run with revision {}, judged by {} (revision {}):",
        over.record.started.revision, header.title, header.revision
    );
    output.line(&wrapped(&harmless(&heading), width, "", ""));
    let rows: Vec<Vec<String>> = over
        .answers()
        .map(|rejudged| {
            let old = rejudged.then;
            let words = |prompt: &Prompt, verdict| {
                join(&judgement(prompt, verdict, &old.sweep), &limits_text(&prompt.question))
            };
            let then = words(&old.prompt, old.verdict);
            let now = match rejudged.now {
                None => "not asked, or not in the same way".to_owned(),
                Some(now) => match words(&now.prompt, now.verdict) {
                    same if same == then => "the same".to_owned(),
                    text if differs(&rejudged) => format!("DIFFERS: {text}"),
                    text => text,
                },
            };
            let recorded = answer_text(&old.prompt, &old.answer);
            vec![harmless(old.prompt.id.as_str()), recorded, harmless(&then), harmless(&now)]
        })
        .collect();
    if !rows.is_empty() {
        output.line(&table(width, &["id", "recorded", "verdict then", "verdict now"], &rows, &[1]));
    }
    let then = format!("Then: {}", standing_text(&over.record.status));
    output.line(&wrapped(&harmless(&then), width, "", "  "));
    let now = format!("Now:  {}", outcome_text(&over.outcome));
    let changed = over.answers().filter(differs).count();
    let same = same_outcome(over);
    let tone = if same { Tone::Good } else { Tone::Doubtful };
    output.toned(tone, &wrapped(&harmless(&now), width, "", "  "));
    let verdicts = match changed {
        0 => "every verdict is the same".to_owned(),
        1 => "1 verdict differs".to_owned(),
        more => format!("{more} verdicts differ"),
    };
    let cause = if same { "it comes out the same" } else { "it comes out otherwise" };
    output.line(&format!("Judged again: {verdicts}; {cause}. The record stays as it is."));
}

fn join(verdict: &str, limits: &str) -> String {
    match (verdict, limits) {
        ("", limits) => limits.to_owned(),
        (verdict, "") => verdict.to_owned(),
        (verdict, limits) => format!("{verdict} ({limits})"),
    }
}

/// How a record compares, in a word or two.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Compared {
    NotJudged,
    OtherOutcome,
    OtherVerdicts,
    Same,
    WouldAskMore,
}

impl Compared {
    const fn word(self) -> &'static str {
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
struct Row {
    record: String,
    result: Compared,
    verdicts: usize,
    which: String,
    then: String,
    now: String,
    /// The error that the procedure came to.
    failed: Option<Box<Diagnostic>>,
}

impl Row {
    fn of(record: &str, found: Result<Over, CliError>) -> Self {
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

fn folder(
    loaded: &Loaded,
    store: &Store,
    arguments: &arguments::Rejudge,
    output: &mut Output,
) -> Result<Exit, CliError> {
    let wanted = arguments.of.as_deref().unwrap_or(&loaded.procedure.name);
    let names = store.names()?;
    let pool = crate::cli::workers()?;
    let wrong = |error: csv::Error| CliError::Files(error.to_string());
    let mut summary = match &arguments.summary {
        Some(path) => {
            let mut writer = csv::Writer::from_path(path).map_err(wrong)?;
            writer.write_record(["record", "result", "verdicts_differ", "which", "then", "now"]).map_err(wrong)?;
            Some(writer)
        }
        None => None,
    };
    let mut tally: std::collections::BTreeMap<Compared, usize> = std::collections::BTreeMap::new();
    let (mut judged, mut others) = (0usize, 0usize);
    let mut shown = Vec::new();
    // Each error once: a hundred records come to the same one.
    let mut failed: Vec<Diagnostic> = Vec::new();
    for chunk in names.chunks(CHUNK) {
        let rows: Vec<Option<Row>> = pool.install(|| {
            chunk
                .par_iter()
                .map(|name| {
                    over(loaded, store, &store.folder().join(name), Some(wanted))
                        .transpose()
                        .map(|found| Row::of(name, found))
                })
                .collect()
        });
        for row in rows {
            let Some(row) = row else {
                others += 1;
                continue;
            };
            judged += 1;
            *tally.entry(row.result).or_default() += 1;
            if let Some(diagnostic) = &row.failed
                && failed.len() < ERRORS_SHOWN
                && !failed.contains(diagnostic)
            {
                failed.push((**diagnostic).clone());
            }
            if let Some(writer) = &mut summary {
                let verdicts = row.verdicts.to_string();
                writer
                    .write_record([&row.record, row.result.word(), &verdicts, &row.which, &row.then, &row.now])
                    .map_err(wrong)?;
            }
            if row.result != Compared::Same && shown.len() < SHOWN {
                shown.push(row);
            }
        }
    }
    if let Some(mut writer) = summary {
        writer.flush()?;
    }
    if judged == 0 {
        return Err(CliError::usage_with(
            format!("there is no record of `{wanted}` in {}", store.folder().display()),
            "name the procedure whose records are meant with --of",
        ));
    }
    let width = output.width();
    let rows: Vec<Vec<String>> = shown
        .iter()
        .map(|row| {
            vec![
                harmless(&row.record),
                row.result.word().to_owned(),
                harmless(&row.which),
                harmless(&row.then),
                harmless(&row.now),
            ]
        })
        .collect();
    if !rows.is_empty() {
        output.line(&table(width, &["record", "result", "verdicts that differ", "then", "now"], &rows, &[]));
    }
    let differing = judged - tally.get(&Compared::Same).copied().unwrap_or(0);
    if differing > shown.len() {
        output.line(&format!("… and {} more; --summary FILE.csv lists all.", differing - shown.len()));
    }
    let counts: Vec<_> = tally.iter().map(|(result, count)| format!("{count} {}", result.word())).collect();
    let mut text = format!("{}: {}.", words::count(judged, "record", "records"), counts.join(", "));
    if others > 0 {
        text.push_str(&format!(" {} of other procedures left out.", words::count(others, "record", "records")));
    }
    output.toned(if differing == 0 { Tone::Good } else { Tone::Doubtful }, &wrapped(&text, width, "", "  "));
    output.line("The records stay as they are.");
    if failed.is_empty() { Ok(Exit::Done) } else { Err(CliError::Input(failed)) }
}
