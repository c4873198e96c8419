//! `list`: the procedures with their title, minutes and what they need.

use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::report::table::{fits, harmless, table, wrapped};
use crate::script::header;
use crate::shop::builtin;
use crate::shop::resume::RECENT;
use crate::shop::settings::Settings;

/// How many runs that can be taken up again are shown.
const OPEN_RUNS: usize = 5;

/// Lists the procedures.
pub fn list(settings: &Settings, output: &mut Output) -> Result<Exit, CliError> {
    let own = settings.shop.names("procedures", "rhai");
    let mut names: Vec<(String, &str)> = own.iter().map(|name| (name.clone(), "shop")).collect();
    names.extend(
        builtin::procedure_names().into_iter().filter(|name| !own.contains(name)).map(|name| (name, "program")),
    );
    names.sort();
    let mut rows = Vec::new();
    let mut problems = Vec::new();
    for (name, from) in names {
        let (_, source) = settings.shop.procedure(&name)?;
        match header::parse(&source.file, &source.text) {
            Ok(header) => {
                let minutes = header.minutes.map(|minutes| minutes.to_string()).unwrap_or_default();
                rows.push(vec![
                    Clean::name(&name).into(),
                    harmless(&header.title),
                    minutes,
                    harmless(&header.tools.join("; ")),
                    from.to_owned(),
                ]);
            }
            Err(diagnostic) => problems.push(*diagnostic),
        }
    }
    let heading = ["procedure", "title", "min", "needs", "from"];
    if fits(output.width(), &heading, &rows) {
        output.line(&table(output.width(), &heading, &rows, &[2]));
    } else {
        stacked(&rows, output);
    }
    let mut circuits = settings.shop.names("circuits", "toml");
    circuits.extend(builtin::circuit_names());
    circuits.sort();
    circuits.dedup();
    let words = format!("Simulated circuits, for --bench and `ohmwright circuit`: {}.", circuits.join(", "));
    output.line(&wrapped(&harmless(&words), output.width(), "", "  "));
    let open = settings.store.open_runs(RECENT)?;
    if !open.is_empty() {
        output.line("Runs to take up again with `ohmwright resume`:");
        for (record, summary) in open.iter().take(OPEN_RUNS) {
            let held = if settings.store.is_held(record) { " (goes on in another window)" } else { "" };
            let vehicle =
                summary.vehicle.as_ref().map(|vehicle| format!("{}: ", Clean::name(vehicle))).unwrap_or_default();
            let record = Clean::name(record);
            let words = format!("{record}: {vehicle}{}{held}", summary.title);
            output.line(&wrapped(&harmless(&words), output.width(), "  ", "    "));
        }
        if open.len() > OPEN_RUNS {
            output.line(&format!("  … and {} more", open.len() - OPEN_RUNS));
        }
    }
    if problems.is_empty() { Ok(Exit::Done) } else { Err(CliError::Input(problems)) }
}

/// One below the other, for a screen on which the columns would break words.
fn stacked(rows: &[Vec<String>], output: &mut Output) {
    let width = output.width();
    for row in rows {
        let [name, title, minutes, needs, from] = row.as_slice() else { continue };
        let minutes = if minutes.is_empty() { String::new() } else { format!(", {minutes} min") };
        let head = wrapped(&format!("{name}{minutes}, from the {from}"), width, "", "  ");
        output.bold(&head);
        output.line(&wrapped(title, width, "  ", "  "));
        if !needs.is_empty() {
            output.line(&wrapped(&format!("needs {needs}"), width, "  ", "    "));
        }
    }
}
