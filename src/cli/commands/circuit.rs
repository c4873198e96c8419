//! `circuit`: shows a circuit, or writes it as a netlist.

use crate::circuit::generated::generated;
use crate::circuit::meter::bench_meter;
use crate::circuit::netlist::Circuit as Netlist;
use crate::circuit::spice;
use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::diagnostic::Diagnostic;
use crate::report::table::{harmless, table, wrapped};
use crate::shop::circuits::{blowing, faults, find, placed};
use crate::shop::settings::Settings;
use crate::shop::vehicle_state::apply_states;
use std::sync::Arc;

/// Shows a circuit, or writes it as a netlist.
pub fn circuit(settings: &Settings, arguments: &arguments::Circuit, output: &mut Output) -> Result<Exit, CliError> {
    let (name, source, circuit) = find(settings, &arguments.circuit)?;
    let faults = faults(&circuit, &arguments.faults)?;
    let in_file = |error| CliError::input(Diagnostic::of_file(&source.file, error));
    let mut state = circuit.start().clone();
    apply_states(&mut state, &arguments.state, 0)?;
    for moved in &arguments.positions {
        let (part, position) = moved
            .split_once('=')
            .ok_or_else(|| CliError::usage(format!("--position {moved}: write it as flap=closed")))?;
        state.positions.insert(part.trim().to_owned(), position.trim().to_owned());
    }
    state.unplugged.extend(arguments.unplugged.iter().cloned());
    if arguments.spice {
        let faults = placed(&circuit, &faults).map_err(in_file)?;
        let netlist = spice::netlist_with(&circuit, &state, &faults).map_err(in_file)?;
        output.text(&netlist);
        return Ok(Exit::Done);
    }
    if arguments.generated {
        show_generated(&circuit, output);
        return Ok(Exit::Done);
    }
    let width = output.width();
    output.line(&harmless(&format!("{}: {}", Clean::name(&name), circuit.title)));
    if circuit.is_example() {
        output.line(&wrapped("Pins, colors and values are an example's, and no vehicle's.", width, "", "  "));
    }
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
            let severity = fault.severity.map(|range| range.text()).unwrap_or_default();
            vec![harmless(&fault.id.0), harmless(&fault.what), severity, fault.causes.join(" or "), common]
        })
        .collect();
    output.line(&table(width, &["fault", "what it is", "severity", "cause", "how common"], &rows, &[4]));
    for remark in blowing(&circuit) {
        output.note(&wrapped(&harmless(&format!("note: {remark}")), width, "", "  "));
    }
    for remark in circuit.remarks() {
        output.note(&wrapped(&harmless(&format!("note: {remark}")), width, "", "  "));
    }
    Ok(Exit::Done)
}

/// The generated family as a table, with each fault's share of all of it.
fn show_generated(circuit: &Arc<Netlist>, output: &mut Output) {
    let width = output.width();
    if circuit.shows().is_none() {
        let words = "No fault is generated: the circuit does not say when a driver notices one. Add `shows` to it.";
        output.line(&wrapped(words, width, "", ""));
        return;
    }
    let family = generated(circuit, &bench_meter());
    let all: f64 = family.iter().map(|one| one.fault.how_common).sum();
    let rows: Vec<Vec<String>> = family
        .iter()
        .map(|one| {
            let names: Vec<String> =
                [&one.fault.id.0].into_iter().chain(&one.also).map(|name| harmless(name)).collect();
            let severity = one.fault.severity.map(|range| range.text()).unwrap_or_default();
            let share = format!("{:.2} %", 100.0 * one.fault.how_common / all);
            vec![names.join(", "), harmless(&one.fault.what), severity, one.fault.causes.join(" or "), share]
        })
        .collect();
    output.line(&table(width, &["fault", "what it is", "severity", "covered by", "share"], &rows, &[4]));
    let uncovered = family.iter().filter(|one| one.fault.causes.is_empty()).count();
    output.line(&wrapped(
        &format!("{} generated faults; no cause covers {uncovered} of them.", family.len()),
        width,
        "",
        "",
    ));
}
