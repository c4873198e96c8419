//! `batch`: a procedure over a table, one vehicle a row, a record each.

use crate::cli::arguments::{self, BenchCircuit};
use crate::cli::commands::standing;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::words;
use crate::report::entry::Tone;
use crate::report::table::{harmless, table, wrapped};
use crate::shop::batch::{Batch, BatchResult, Progress, SHOWN, batch as run_batch};
use crate::shop::settings::Settings;
use indicatif::{ProgressBar, ProgressStyle};

/// Runs a procedure over a table.
pub fn batch(settings: &Settings, arguments: &arguments::Batch, output: &mut Output) -> Result<Exit, CliError> {
    let wanted = Batch {
        procedure: &arguments.procedure,
        table: &arguments.table,
        bench: arguments.bench.as_ref().map(BenchCircuit::named),
        meter: arguments.meter.clone(),
        summary: arguments.summary.as_deref(),
    };
    let bar = progress();
    let width = output.width();
    let told = |progress: Progress<'_>| match progress {
        Progress::Loaded(loaded) => {
            let mut output = Output::new(Some(width));
            standing::note_remarks(&loaded.remarks(), &mut output);
            match wanted.bench {
                None => _ = standing::say(settings, loaded, &mut output),
                Some(_) => standing::say_example(loaded, &mut output),
            }
        }
        Progress::Namesake { other, prefix } => {
            let words = format!(
                "note: the table {other} has the same name, so that the records of this one are called {prefix}-row-\u{2026}"
            );
            Output::new(Some(width)).note(&wrapped(&harmless(&words), width, "", "  "));
        }
        Progress::Begun(lines) => bar.set_length(lines.saturating_sub(1)),
        Progress::Row => bar.inc(1),
        Progress::Done => bar.finish_and_clear(),
    };
    let result = run_batch(settings, &wanted, &told)?;
    print(output, &result);
    for column in &result.not_asked {
        output.note(&format!("note: no row was asked for the column `{}`", harmless(column)));
    }
    for note in &result.notes {
        output.note(&wrapped(&harmless(&format!("note: {note}")), width, "", "  "));
    }
    output.line(&format!("Summary: {}", result.summary.display()));
    Ok(if result.failed > 0 {
        Exit::Bad
    } else if result.waiting > 0 {
        Exit::Waiting
    } else if result.ended > 0 {
        Exit::Unfinished
    } else {
        Exit::Done
    })
}

fn print(output: &mut Output, result: &BatchResult) {
    let BatchResult { rows, waiting, failed, ended, .. } = result;
    let width = output.width();
    let lines: Vec<Vec<String>> = result
        .shown
        .iter()
        .filter(|row| *rows <= SHOWN || row.outcome.wants_a_hand())
        .map(|row| {
            let detail = if row.detail.is_empty() { row.cause.clone() } else { row.detail.clone() };
            vec![row.line.to_string(), Clean::name(&row.vehicle).into(), row.outcome.to_string(), harmless(&detail)]
        })
        .collect();
    if !lines.is_empty() {
        output.line(&table(width, &["row", "vehicle", "outcome", "cause, or what is wrong"], &lines, &[0]));
    }
    let counts: Vec<Vec<String>> =
        result.tally.iter().map(|(cause, count)| vec![harmless(cause), count.to_string()]).collect();
    output.line(&table(width, &["cause", "rows"], &counts, &[1]));
    let all = words::count(*rows, "row", "rows");
    let (tone, text) = if failed + waiting + ended > 0 {
        let text = format!(
            "{all}: {waiting} waiting, {failed} failed, {ended} without a cause. A row that waits is answered with `ohmwright resume RECORD`, or mended in the table and run again."
        );
        (Tone::Doubtful, text)
    } else {
        (Tone::Good, format!("{all}: all concluded."))
    };
    output.toned(tone, &wrapped(&text, width, "", "  "));
}

/// A bar that is not drawn before the first row is begun.
fn progress() -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos} of {len} rows, {eta} left") {
        bar.set_style(style);
    }
    bar
}
