//! `prove`: a procedure, or every one, against every fault of its circuit.

use crate::circuit::netlist::Circuit;
use crate::circuit::showing::healthy_one_that_shows;
use crate::cli::arguments;
use crate::cli::commands::prove_progress::Progress;
use crate::cli::commands::standing;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::diagnostic::Diagnostic;
use crate::model::prompt::CauseId;
use crate::model::proof::coverage::Script;
use crate::model::proof::kept::KeptResult;
use crate::model::proof::whole::Proof;
use crate::model::words;
use crate::report::one_line::plain;
use crate::report::proof_json::with_fractions;
use crate::report::table::{harmless, wrapped};
use crate::report::{json, lcov, proof, proof_result, proof_tries};
use crate::script::header;
use crate::script::prove::proving::{Counting, Proving};
use crate::shop::builtin;
use crate::shop::loaded::Loaded;
use crate::shop::proofs;
use crate::shop::settings::Settings;
use std::sync::Arc;

/// Proves a procedure, or every one; the exit code says whether anything was misjudged.
pub fn prove(settings: &Settings, arguments: &arguments::Prove, output: &mut Output) -> Result<Exit, CliError> {
    let Some(procedure) = &arguments.procedure else { return every(settings, arguments, output) };
    let found = one(settings, arguments, procedure, output)?;
    if let Some(path) = &arguments.coverage {
        fs_err::write(path, lcov::lcov(found.coverage.scripts()))?;
    }
    if let Some(path) = &arguments.json {
        let json = json::pretty(&with_fractions(&found)).map_err(|error| CliError::Files(error.to_string()))?;
        fs_err::write(path, json.as_str())?;
    }
    if let Some(path) = &arguments.csv {
        let wrong = |error: csv::Error| CliError::Files(error.to_string());
        let mut writer = csv::Writer::from_writer(Vec::new());
        let (heading, rows) = proof::fault_by_prompt(&found);
        writer.write_record(heading.iter().map(|cell| plain(cell))).map_err(wrong)?;
        for row in rows {
            writer.write_record(row.iter().map(|cell| plain(cell))).map_err(wrong)?;
        }
        let bytes = writer.into_inner().map_err(|error| CliError::Files(error.to_string()))?;
        fs_err::write(path, bytes)?;
    }
    Ok(if found.is_clean() { Exit::Done } else { Exit::Bad })
}

/// Proves every procedure that names a circuit; of the library files, what none of them ran.
fn every(settings: &Settings, arguments: &arguments::Prove, output: &mut Output) -> Result<Exit, CliError> {
    let mut names = settings.shop.names("procedures", "rhai");
    names.extend(builtin::procedure_names());
    names.sort();
    names.dedup();
    let (mut exit, mut problems) = (Exit::Done, Vec::new());
    let (mut own, mut libraries): (Vec<Script>, Vec<Script>) = (vec![], vec![]);
    for name in names {
        let (_, source) = settings.shop.procedure(&name)?;
        match header::parse(&source.file, &source.text) {
            Ok(header) if header.circuit.is_none() => {
                output.note(&note(output, &format!("`{name}` names no circuit, and is not proven")));
                continue;
            }
            _ => {}
        }
        match one(settings, arguments, &name, output) {
            Ok(found) => {
                if !found.is_clean() {
                    exit = Exit::Bad;
                }
                found.coverage.add_libraries_to(&mut libraries);
                own.extend(found.coverage.procedure);
            }
            // The others are proven all the same.
            Err(CliError::Input(found)) => problems.extend(found),
            Err(error) => return Err(error),
        }
    }
    libraries.sort_by(|one, other| one.file.cmp(&other.file));
    let branches: usize = libraries.iter().map(|script| script.branches.len()).sum();
    let never: usize = libraries.iter().map(|script| script.never_ran().count()).sum();
    let words = format!(
        "Library files, over all these procedures: {} of {} branches never ran.",
        proof_result::thousands(never as u64),
        proof_result::thousands(branches as u64)
    );
    output.line(&wrapped(&words, output.width(), "", "  "));
    if arguments.table {
        for script in &libraries {
            output.text(&proof_tries::never_ran(script, output.width()));
        }
    }
    if let Some(path) = &arguments.coverage {
        fs_err::write(path, lcov::lcov(own.iter().chain(&libraries)))?;
    }
    if problems.is_empty() { Ok(exit) } else { Err(CliError::Input(problems)) }
}

fn note(output: &Output, words: &str) -> String {
    wrapped(&harmless(&format!("note: {words}")), output.width(), "", "  ")
}

/// Proves one procedure and shows what came of it.
fn one(
    settings: &Settings,
    arguments: &arguments::Prove,
    procedure: &str,
    output: &mut Output,
) -> Result<Proof, CliError> {
    let loaded = Loaded::find(settings, procedure)?;
    let named = arguments.circuit.clone().or_else(|| loaded.procedure.header.circuit.clone()).ok_or_else(|| {
        let source = &loaded.procedure.source;
        let start = source.text.find("//!").unwrap_or(0);
        let title = format!("`{}` names no circuit", loaded.procedure.name);
        CliError::input(
            Diagnostic::at(&source.file, &source.text, start..start + 3, title)
                .with_hint("name one: --circuit CIRCUIT, or `//! circuit = \"…\"` in the header"),
        )
    })?;
    let (circuit_name, circuit_source, circuit) = crate::shop::circuits::find(settings, &named)?;
    if arguments.circuit.is_some() {
        loaded.without_slips(Some(&circuit.names()))?;
    }
    let of_script = loaded.remarks();
    let kept_at = proofs::place(settings, &loaded, &circuit_source);
    let mut remarks = remarks(&loaded, &circuit);
    let place = |span: std::ops::Range<usize>| {
        let line = circuit_source.text.get(..span.start).map_or(1, |before| before.matches('\n').count() + 1);
        format!("{}:{line}: ", circuit_source.file)
    };
    remarks.extend(circuit.remarks().into_iter().map(|remark| {
        let place = remark.span.clone().map_or_else(|| format!("{}: ", circuit_source.file), place);
        format!("{place}{remark}")
    }));
    let meter = crate::circuit::meter::bench_meter();
    let shows = healthy_one_that_shows(&circuit, arguments.samples, arguments.seed, &meter);
    // What the circuit can't be asked, the proof says with the case.
    if let Ok(Some((vehicle, span))) = shows {
        let title = format!("vehicle {vehicle} shows this, and nothing is wrong with it");
        return Err(CliError::input(
            Diagnostic::at(&circuit_source.file, &circuit_source.text, span, title)
                .with_hint("move the limit away from what healthy vehicles show"),
        ));
    }
    let counting = if arguments.coverage.is_some() { Counting::EveryRun } else { Counting::FirstVehicle };
    let proving = Proving {
        procedure: Arc::new(loaded.procedure),
        circuit,
        circuit_name,
        samples: arguments.samples,
        seed: arguments.seed,
        pairs: arguments.pairs,
        generated: true,
        slips: true,
        counting,
        meter,
    };
    let pool = crate::shop::workers::workers()?;
    let progress = Progress::new(output);
    let result = pool.install(|| proving.prove(&progress));
    progress.finish();
    let found = result.map_err(|problem| CliError::input(*problem))?;
    output.text(&proof_result::text(&found, output.width(), arguments.table));
    standing::note_remarks(&of_script, output);
    for case in found.never_showing() {
        let faults = case.faults.join(" + ");
        remarks.push(format!(
            "{}: fault `{faults}` shows on no vehicle, however it is drawn: make it worse, or the limits of `shows` narrower",
            circuit_source.file
        ));
    }
    for remark in remarks {
        output.note(&note(output, &remark));
    }
    if let Some(why) = keep(kept_at, &found) {
        output.note(&note(output, &format!("the result is not kept: {why}")));
    }
    if found.coverage.procedure.is_none() {
        output.note(&note(output, "lines and branches could not be counted in this script"));
    }
    Ok(found)
}

/// Keeps what a proof came to; why it is not kept, where that is to be said.
fn keep(place: Result<proofs::Place, Option<String>>, found: &Proof) -> Option<String> {
    match place {
        Ok(place) => place.keep(KeptResult::of(found)).err().map(|error| error.to_string()),
        Err(why) => why,
    }
}

/// Where the circuit's causes and the procedure's are not the same: what no run can come to, and what no run shows.
fn remarks(loaded: &Loaded, circuit: &Circuit) -> Vec<String> {
    let procedure = &loaded.procedure;
    let mut remarks = crate::shop::circuits::blowing(circuit);
    for fault in circuit.faults() {
        for cause in &fault.causes {
            if procedure.causes.iter().any(|known| known.id.as_str() == cause) {
                continue;
            }
            let nearest = words::nearest(cause, procedure.causes.iter().map(|known| known.id.as_str()));
            let meant = words::did_you_mean(nearest.as_deref());
            remarks.push(format!(
                "the circuit's fault `{}` has the cause `{cause}`, and the procedure has no such cause, so that it is never \
                 right{meant}",
                fault.id.0
            ));
        }
    }
    let never_named = procedure.causes_never_named();
    for cause in &never_named {
        remarks.push(format!("the header has the cause `{cause}`, and nothing in the script concludes it"));
    }
    let no_fault = [CauseId::NOT_PRESENT, CauseId::REPAIRED];
    let is_shown = |cause: &String| circuit.faults().iter().any(|fault| fault.causes.contains(cause));
    let unproven: Vec<String> = procedure
        .header
        .causes
        .keys()
        .filter(|cause| !no_fault.contains(&cause.as_str()) && !never_named.contains(&cause.as_str()))
        .filter(|cause| !is_shown(cause))
        .map(|cause| format!("`{cause}`"))
        .collect();
    if !unproven.is_empty() {
        let (what, they) = if unproven.len() == 1 { ("cause", "it is") } else { ("causes", "they are") };
        remarks.push(format!(
            "no fault of the circuit has the {what} {}: that {they} found is not proven",
            words::all(&unproven)
        ));
    }
    remarks
}
