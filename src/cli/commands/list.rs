//! `list`: the procedures with their title, minutes and what they need.

use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::report::table::{fits, harmless, table, wrapped};
use crate::script::diagnose::Source;
use crate::script::header::{self, Header};
use crate::shop::builtin;
use crate::shop::proofs;
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
                    proof(settings, &name, (&source, &header), output),
                ]);
            }
            Err(diagnostic) => problems.push(*diagnostic),
        }
    }
    let mut heading = vec!["procedure", "title", "min", "needs", "from", "proof"];
    let is_kept = |row: &Vec<String>| row.last().is_some_and(|proof| !proof.is_empty());
    let any_kept = rows.iter().any(is_kept);
    if !any_kept {
        heading.pop();
        rows.iter_mut().for_each(|row| _ = row.pop());
    }
    if fits(output.width(), &heading, &rows) {
        output.line(&table(output.width(), &heading, &rows, &[2]));
    } else {
        stacked(&rows, output);
    }
    if any_kept {
        let words = "“Proven” means proven on the simulated circuit that the procedure names, and nothing more.";
        output.line(&wrapped(words, output.width(), "", "  "));
    }
    let mut circuits = settings.shop.names("circuits", "toml");
    circuits.extend(builtin::circuit_names());
    circuits.sort();
    circuits.dedup();
    let words = format!("Simulated circuits, for --simulate and `ohmwright circuit`: {}.", circuits.join(", "));
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

/// What a procedure's kept proofs say, in few words; nothing where nothing is kept.
fn proof(settings: &Settings, name: &str, (source, header): (&Source, &Header), output: &mut Output) -> String {
    let known = proofs::of_file(settings, name, source, header);
    if let Some(problem) = known.problem {
        output.note(&wrapped(&harmless(&format!("note: {problem}")), output.width(), "", "  "));
    }
    known.standing.in_few_words()
}

/// One below the other, for a screen on which the columns would break words.
fn stacked(rows: &[Vec<String>], output: &mut Output) {
    let width = output.width();
    for row in rows {
        let [name, title, minutes, needs, from, rest @ ..] = row.as_slice() else { continue };
        let minutes = if minutes.is_empty() { String::new() } else { format!(", {minutes} min") };
        let head = wrapped(&format!("{name}{minutes}, from the {from}"), width, "", "  ");
        output.bold(&head);
        output.line(&wrapped(title, width, "  ", "  "));
        if !needs.is_empty() {
            output.line(&wrapped(&format!("needs {needs}"), width, "  ", "    "));
        }
        for proof in rest.iter().filter(|proof| !proof.is_empty()) {
            output.line(&wrapped(proof, width, "  ", "    "));
        }
    }
}
