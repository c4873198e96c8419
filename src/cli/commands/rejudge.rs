//! `rejudge`: a newer revision of a procedure over the answers of old records, which stay as they are.

use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::prompt::Prompt;
use crate::model::typed::Shown;
use crate::model::words;
use crate::report::entry::{Tone, answer_text, limits_text};
use crate::report::record::standing_text;
use crate::report::table::{harmless, table, wrapped};
use crate::script::execute::Outcome;
use crate::script::judge::Over;
use crate::shop::loaded::Loaded;
use crate::shop::rejudge::{
    Compared, FolderJudged, Given, differs, folder, given, judgement, outcome_text, over, same_outcome,
};
use crate::shop::settings::Settings;

/// Judges old records by a newer procedure.
pub fn rejudge(settings: &Settings, arguments: &arguments::Rejudge, output: &mut Output) -> Result<Exit, CliError> {
    let loaded = Loaded::find(settings, &arguments.procedure)?;
    match given(&settings.store, &arguments.record)? {
        Given::Folder(store) => {
            let of = arguments.of.as_deref();
            let judged = folder(&loaded, &store, of, arguments.summary.as_deref())?;
            print(&judged, output);
            if judged.failed.is_empty() { Ok(Exit::Done) } else { Err(CliError::Input(judged.failed)) }
        }
        Given::Record { name, store, path } => {
            let Some(over) = over(&loaded, &store, &path, None)? else { return Ok(Exit::Done) };
            one(&name, &loaded, &over, output);
            match over.outcome {
                Outcome::Failed(diagnostic) => Err(CliError::input(*diagnostic)),
                _ => Ok(Exit::Done),
            }
        }
    }
}

fn one(name: &str, loaded: &Loaded, over: &Over, output: &mut Output) {
    let width = output.width();
    let header = &loaded.procedure.header;
    let heading = format!(
        "{name}, run with revision {}, judged by {} (revision {}):",
        over.record.started.revision(),
        header.title,
        header.revision
    );
    output.line(&wrapped(&harmless(&heading), width, "", ""));
    let rows: Vec<Vec<String>> = over
        .answers()
        .map(|rejudged| {
            let old = rejudged.then;
            let words = |prompt: &Prompt, verdict, shown: &[Option<Shown>]| {
                join(&judgement(prompt, verdict, (&old.sweep, shown)), &limits_text(&prompt.question))
            };
            let then = words(&old.prompt, old.verdict, &old.shown);
            let now = match rejudged.now {
                None => "not asked, or not in the same way".to_owned(),
                Some(now) => match words(&now.prompt, now.verdict, &now.shown) {
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
    let cause = if same { "the result is the same" } else { "the result differs" };
    output.line(&format!("Judged again: {verdicts}; {cause}. The record stays as it is."));
}

fn join(verdict: &str, limits: &str) -> String {
    match (verdict, limits) {
        ("", limits) => limits.to_owned(),
        (verdict, "") => verdict.to_owned(),
        (verdict, limits) => format!("{verdict} ({limits})"),
    }
}

fn print(judged: &FolderJudged, output: &mut Output) {
    let width = output.width();
    let rows: Vec<Vec<String>> = judged
        .shown
        .iter()
        .map(|row| {
            vec![
                Clean::name(&row.record).into(),
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
    let differing = judged.judged - judged.tally.get(&Compared::Same).copied().unwrap_or(0);
    if differing > judged.shown.len() {
        output.line(&format!("… and {} more; --summary FILE.csv lists all.", differing - judged.shown.len()));
    }
    let counts: Vec<_> = judged.tally.iter().map(|(result, count)| format!("{count} {}", result.word())).collect();
    let mut text = format!("{}: {}.", words::count(judged.judged, "record", "records"), counts.join(", "));
    if judged.others > 0 {
        text.push_str(&format!(" {} of other procedures left out.", words::count(judged.others, "record", "records")));
    }
    output.toned(if differing == 0 { Tone::Good } else { Tone::Doubtful }, &wrapped(&text, width, "", "  "));
    output.line("The records stay as they are.");
}
