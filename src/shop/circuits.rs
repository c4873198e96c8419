//! Circuits: found and read, with the faults that are named.

use crate::circuit::error::{CircuitError, SolveError};
use crate::circuit::fault::{Fault, FaultId};
use crate::circuit::file;
use crate::circuit::fuse_check::fuses_that_blow;
use crate::circuit::netlist::Circuit;
use crate::circuit::severity::Placed;
use crate::model::diagnostic::Diagnostic;
use crate::model::points::Points;
use crate::model::quantity::Quantity;
use crate::model::source::{SourceKind, SourceRef};
use crate::model::started::PlacedFault;
use crate::model::words;
use crate::records::store::Store;
use crate::script::diagnose::Source;
use crate::shop::error::ShopError;
use crate::shop::settings::Settings;
use std::sync::Arc;

/// Reads a circuit file; of a kept copy no more is wanted.
pub fn parse(source: &Source) -> Result<Circuit, ShopError> {
    file::parse(&source.text, &source.file).map_err(|error| ShopError::input(diagnostic_of(source, &error)))
}

/// Reads a circuit file that is taken up now: what can't be meant so is refused.
pub fn parse_anew(source: &Source) -> Result<Circuit, ShopError> {
    let circuit = parse(source)?;
    let semantic_errors = semantic_errors(source, &circuit);
    if semantic_errors.is_empty() { Ok(circuit) } else { Err(ShopError::Input(semantic_errors)) }
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
pub fn find(settings: &Settings, given: &str) -> Result<(String, Source, Arc<Circuit>), ShopError> {
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

/// What stands for the healthy circuit where faults are named.
const NO_FAULT: &str = "none";

/// Whether the healthy circuit was named; beside a fault it says nothing.
pub fn is_healthy(named: &[impl AsRef<str>]) -> Result<bool, String> {
    match named {
        [only] => Ok(only.as_ref() == NO_FAULT),
        several if several.iter().any(|name| name.as_ref() == NO_FAULT) => {
            Err(format!("`{NO_FAULT}` is the healthy circuit: name no fault beside it"))
        }
        _ => Ok(false),
    }
}

/// The faults that were named, `ID` or `ID=SEVERITY`, checked against the circuit; none where the healthy one was.
pub fn faults(circuit: &Circuit, named: &[String]) -> Result<Vec<PlacedFault>, ShopError> {
    let healthy = is_healthy(named)
        .map_err(|sentence| ShopError::refused_with(sentence, "leave it out, or leave the faults out"))?;
    if healthy {
        return Ok(vec![]);
    }
    named
        .iter()
        .map(|name| {
            fault(circuit, name).map_err(|sentence| {
                let known: Vec<&str> = circuit.faults().iter().map(|fault| fault.id.0.as_str()).collect();
                ShopError::refused_with(sentence, format!("it has {}", known.join(", ")))
            })
        })
        .collect()
}

/// One fault by its name, with its severity after a `=` if one is given; or a sentence that says what it may have been.
pub fn fault(circuit: &Circuit, named: &str) -> Result<PlacedFault, String> {
    let (name, severity) = named.split_once('=').map_or((named, None), |(name, severity)| (name, Some(severity)));
    let id = FaultId::from(name);
    if let Ok(fault) = circuit.fault(&id) {
        let severity = severity.map(|text| severity_of(fault, text)).transpose()?;
        return Ok(PlacedFault { id: id.0, severity });
    }
    let nearest = words::nearest(name, circuit.faults().iter().map(|fault| fault.id.0.as_str()));
    Err(format!("the circuit has no fault `{name}`{}", words::did_you_mean(nearest.as_deref())))
}

/// A severity in the fault's own unit, inside its range.
fn severity_of(fault: &Fault, text: &str) -> Result<f64, String> {
    let Some(range) = fault.severity else {
        return Err(format!("the fault `{}` has one severity only: leave `={text}` out", fault.id));
    };
    let wrong = || format!("the fault `{}` has a severity of {}, and `{text}` is not in it", fault.id, range.text());
    let quantity: Quantity = text.trim().parse().map_err(|_| wrong())?;
    let is_in = quantity.dimension() == range.dimension && fault.placed(Some(quantity.si())).is_ok();
    if is_in { Ok(quantity.si()) } else { Err(wrong()) }
}

/// Faults as they are put into a circuit.
///
/// # Errors
/// A fault that the circuit does not have, or not as bad as that.
pub fn placed(circuit: &Circuit, faults: &[PlacedFault]) -> Result<Vec<Placed>, SolveError> {
    faults.iter().map(|fault| circuit.fault(&FaultId::from(fault.id.as_str()))?.placed(fault.severity)).collect()
}
