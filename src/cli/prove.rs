//! `prove`: a procedure against every fault of its circuit.

use super::arguments;
use super::error::CliError;
use super::exit::Exit;
use super::output::Output;
use super::settings::Settings;
use super::start::Loaded;
use crate::model::diagnostic::Diagnostic;
use crate::report::proof;
use crate::script::prove::Proving;
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::Arc;

/// Proves a procedure; the exit code says whether anything was misjudged.
pub fn prove(settings: &Settings, arguments: &arguments::Prove, output: &mut Output) -> Result<Exit, CliError> {
    let loaded = Loaded::find(settings, &arguments.procedure)?;
    let named = arguments.circuit.clone().or_else(|| loaded.procedure.header.circuit.clone()).ok_or_else(|| {
        CliError::usage_with(
            format!("`{}` names no circuit", loaded.procedure.name),
            "name one: --circuit CIRCUIT, or `//! circuit = \"…\"` in the header",
        )
    })?;
    let (circuit_name, _, circuit) = super::circuits::find(settings, &named)?;
    let file = loaded.procedure.source.file.clone();
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
    let pool = super::workers()?;
    let result = pool.install(|| proving.prove(&|| bar.inc(1)));
    bar.finish_and_clear();
    let found = result.map_err(|problem| CliError::input(Diagnostic::of_file(&file, problem)))?;
    output.text(&proof::text(&found, output.width()));
    if let Some(path) = &arguments.json {
        let json = serde_json::to_string_pretty(&found).map_err(|error| CliError::Files(error.to_string()))?;
        fs_err::write(path, json + "\n")?;
    }
    if let Some(path) = &arguments.csv {
        let wrong = |error: csv::Error| CliError::Files(error.to_string());
        let mut writer = csv::Writer::from_writer(Vec::new());
        let (heading, rows) = proof::fault_by_prompt(&found);
        writer.write_record(&heading).map_err(wrong)?;
        for row in rows {
            writer.write_record(&row).map_err(wrong)?;
        }
        let bytes = writer.into_inner().map_err(|error| CliError::Files(error.to_string()))?;
        fs_err::write(path, bytes)?;
    }
    Ok(if found.is_clean() { Exit::Done } else { Exit::Bad })
}
