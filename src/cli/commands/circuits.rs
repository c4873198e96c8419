//! Circuits at the edge: found, read, written as a netlist.

use crate::circuit::error::CircuitError;
use crate::circuit::fault::FaultId;
use crate::circuit::file;
use crate::circuit::fuse_check::fuses_that_blow;
use crate::circuit::netlist::Circuit;
use crate::circuit::spice;
use crate::cli::arguments::{self, BenchCircuit};
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::settings::Settings;
use crate::cli::start::Loaded;
use crate::cli::store::Store;
use crate::cli::terminal::output::Output;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::{SourceKind, SourceRef};
use crate::model::points::Points;
use crate::model::words;
use crate::report::table::{harmless, table, wrapped};
use crate::script::diagnose::Source;
use std::sync::Arc;

/// Reads a circuit file; of a kept copy no more is wanted.
pub fn parse(source: &Source) -> Result<Circuit, CliError> {
    file::parse(&source.text, &source.file).map_err(|error| CliError::input(diagnostic_of(source, &error)))
}

/// Reads a circuit file that is taken up now: what can't be meant so is refused.
pub fn parse_anew(source: &Source) -> Result<Circuit, CliError> {
    let circuit = parse(source)?;
    let semantic_errors = semantic_errors(source, &circuit);
    if semantic_errors.is_empty() { Ok(circuit) } else { Err(CliError::Input(semantic_errors)) }
}

/// What a circuit says and can't mean so.
pub fn semantic_errors(source: &Source, circuit: &Circuit) -> Vec<Diagnostic> {
    circuit.semantic_errors().iter().map(|slip| diagnostic_of(source, slip)).collect()
}

fn diagnostic_of(source: &Source, error: &CircuitError) -> Diagnostic {
    let title = match &error.place {
        Some(place) => format!("{place}: {}", error.problem),
        None => error.problem.to_string(),
    };
    match error.span.clone() {
        Some(span) => Diagnostic::at(&source.file, &source.text, span, title),
        None => Diagnostic::of_file(&source.file, title),
    }
}

/// Fuses that blow in a circuit in which nothing is broken: a remark each.
pub fn blowing(circuit: &Circuit) -> Vec<String> {
    let blowing = fuses_that_blow(circuit).into_iter();
    blowing.map(|(fuse, state)| format!("in the healthy circuit the fuse `{fuse}` blows with {state}")).collect()
}

/// A circuit by name or path.
pub fn find(settings: &Settings, given: &str) -> Result<(String, Source, Arc<Circuit>), CliError> {
    let (name, source) = settings.shop.circuit(given)?;
    let circuit = Arc::new(parse_anew(&source)?);
    Ok((name, source, circuit))
}

/// The names of the circuit that was kept with a record, where there is one that can be read.
pub fn kept_points(store: &Store, sources: &[SourceRef]) -> Option<Points> {
    let source = sources.iter().find(|source| source.kind == SourceKind::Circuit)?;
    let source = Source { file: source.name.clone(), text: store.kept(source).ok()? };
    parse(&source).ok().map(|circuit| circuit.names())
}

/// The circuit for a bench. The procedure's leads are then those of this circuit.
pub fn for_bench(
    settings: &Settings,
    loaded: &mut Loaded,
    wanted: &BenchCircuit,
) -> Result<(String, Arc<Circuit>), CliError> {
    let named = match (wanted, &loaded.procedure.header.circuit) {
        (BenchCircuit::Own, Some(circuit)) => circuit.clone(),
        (BenchCircuit::Own, None) => {
            return Err(CliError::usage_with(
                format!("`{}` names no circuit", loaded.procedure.name),
                "name one: --bench CIRCUIT",
            ));
        }
        (BenchCircuit::Named(named), _) => named.clone(),
    };
    let (name, source, circuit) = find(settings, &named)?;
    loaded.use_circuit(&name, source, &circuit);
    loaded.without_slips(loaded.points.as_deref())?;
    Ok((name, circuit))
}

/// What stands for the healthy circuit where faults are named.
const NO_FAULT: &str = "none";

/// Whether the healthy circuit was named; beside a fault it says nothing.
pub fn is_healthy(named: &[impl AsRef<str>]) -> Result<bool, String> {
    match named {
        [only] => Ok(only.as_ref() == NO_FAULT),
        several if several.iter().any(|name| name.as_ref() == NO_FAULT) => {
            Err(format!("`{NO_FAULT}` is the healthy circuit, and stands alone"))
        }
        _ => Ok(false),
    }
}

/// The faults that were named, checked against the circuit; none where the healthy one was.
pub fn faults(circuit: &Circuit, named: &[String]) -> Result<Vec<FaultId>, CliError> {
    let healthy = is_healthy(named)
        .map_err(|sentence| CliError::usage_with(sentence, "leave it out, or leave the faults out"))?;
    if healthy {
        return Ok(vec![]);
    }
    named
        .iter()
        .map(|name| {
            fault(circuit, name).map_err(|sentence| {
                let known: Vec<&str> = circuit.faults().iter().map(|fault| fault.id.0.as_str()).collect();
                CliError::usage_with(sentence, format!("it has {}", known.join(", ")))
            })
        })
        .collect()
}

/// One fault by its name, or a sentence that says what it may have been.
pub fn fault(circuit: &Circuit, name: &str) -> Result<FaultId, String> {
    let id = FaultId::from(name);
    if circuit.fault(&id).is_ok() {
        return Ok(id);
    }
    let nearest = words::nearest(name, circuit.faults().iter().map(|fault| fault.id.0.as_str()));
    Err(format!("the circuit has no fault `{name}`{}", words::did_you_mean(nearest.as_deref())))
}

/// Shows a circuit, or writes it as a netlist.
pub fn circuit(settings: &Settings, arguments: &arguments::Circuit, output: &mut Output) -> Result<Exit, CliError> {
    let (name, source, circuit) = find(settings, &arguments.circuit)?;
    let faults = faults(&circuit, &arguments.faults)?;
    let mut state = circuit.start().clone();
    crate::cli::start::apply_states(&mut state, &arguments.state, 0)?;
    for moved in &arguments.positions {
        let (part, position) = moved
            .split_once('=')
            .ok_or_else(|| CliError::usage(format!("--position {moved}: write it as flap=closed")))?;
        state.positions.insert(part.trim().to_owned(), position.trim().to_owned());
    }
    state.unplugged.extend(arguments.unplugged.iter().cloned());
    if arguments.spice {
        let netlist = spice::netlist(&circuit, &state, &faults)
            .map_err(|error| CliError::input(Diagnostic::of_file(&source.file, error)))?;
        output.text(&netlist);
        return Ok(Exit::Done);
    }
    let width = output.width();
    output.line(&harmless(&format!("{name}: {}", circuit.title)));
    let names = circuit.names();
    let rows: Vec<Vec<String>> = names
        .ends
        .iter()
        .filter(|(_, end)| circuit.roles().any(|(role, _)| role == &*end.name))
        .map(|(role, end)| {
            let text = |text: &Option<Arc<str>>| harmless(text.as_deref().unwrap_or(""));
            vec![harmless(role), text(&end.point), text(&end.wire), text(&end.place)]
        })
        .collect();
    output.line(&table(width, &["role", "pin", "wire", "where"], &rows, &[]));
    let rows: Vec<Vec<String>> = circuit
        .faults()
        .iter()
        .map(|fault| {
            let common = crate::model::unit::significant(fault.how_common, 3);
            vec![harmless(&fault.id.0), harmless(&fault.what), fault.causes.join(" or "), common]
        })
        .collect();
    output.line(&table(width, &["fault", "what it is", "cause", "how common"], &rows, &[3]));
    for remark in blowing(&circuit) {
        output.note(&wrapped(&harmless(&format!("note: {remark}")), width, "", "  "));
    }
    Ok(Exit::Done)
}
