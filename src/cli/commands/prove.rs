//! `prove`: a procedure against every fault of its circuit.

use crate::circuit::netlist::Circuit;
use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::diagnostic::Diagnostic;
use crate::model::prompt::CauseId;
use crate::model::words;
use crate::report::one_line::plain;
use crate::report::table::{harmless, wrapped};
use crate::report::{json, proof};
use crate::script::prove::proving::Proving;
use crate::shop::loaded::Loaded;
use crate::shop::settings::Settings;
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::Arc;

/// Proves a procedure; the exit code says whether anything was misjudged.
pub fn prove(settings: &Settings, arguments: &arguments::Prove, output: &mut Output) -> Result<Exit, CliError> {
    let loaded = Loaded::find(settings, &arguments.procedure)?;
    let named = arguments.circuit.clone().or_else(|| loaded.procedure.header.circuit.clone()).ok_or_else(|| {
        let source = &loaded.procedure.source;
        let start = source.text.find("//!").unwrap_or(0);
        let title = format!("`{}` names no circuit", loaded.procedure.name);
        CliError::input(
            Diagnostic::at(&source.file, &source.text, start..start + 3, title)
                .with_hint("name one: --circuit CIRCUIT, or `//! circuit = \"…\"` in the header"),
        )
    })?;
    let (circuit_name, _, circuit) = crate::shop::circuits::find(settings, &named)?;
    if arguments.circuit.is_some() {
        loaded.without_slips(Some(&circuit.names()))?;
    }
    let remarks = remarks(&loaded, &circuit);
    let proving = Proving {
        procedure: Arc::new(loaded.procedure),
        circuit,
        circuit_name,
        samples: arguments.samples,
        seed: arguments.seed,
        pairs: arguments.pairs,
        meter: crate::circuit::meter::bench_meter(),
    };
    let bar = ProgressBar::new(proving.cases() as u64);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos} of {len} cases, {eta} left") {
        bar.set_style(style);
    }
    let pool = crate::shop::workers::workers()?;
    let result = pool.install(|| proving.prove(&|| bar.inc(1)));
    bar.finish_and_clear();
    let found = result.map_err(|problem| CliError::input(*problem))?;
    output.text(&proof::text(&found, output.width()));
    for remark in remarks {
        output.note(&wrapped(&harmless(&format!("note: {remark}")), output.width(), "", "  "));
    }
    if let Some(path) = &arguments.json {
        let json = json::pretty(&found).map_err(|error| CliError::Files(error.to_string()))?;
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
