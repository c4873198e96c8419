//! ngspice solves the same netlists.
#![expect(
    clippy::disallowed_macros,
    clippy::disallowed_methods,
    reason = "a test runs another program on decks in a folder, and tells how many comparisons it made"
)]
use crate::{fault_sets, shipped_circuits, states};
use ohmwright::circuit::file;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::solve;
use ohmwright::circuit::spice;
use ohmwright::model::vehicle::VehicleState;
use std::collections::HashMap;
use std::fmt::Write;
use std::process::Command;

/// One deck and, for each of its nodes `n1`, `n2` …, the name and the volts that are expected.
pub struct Case {
    pub name: String,
    pub deck: String,
    pub expected: Vec<(String, f64)>,
}

fn case(name: String, circuit: &Circuit, state: &VehicleState, faults: &[ohmwright::circuit::fault::FaultId]) -> Case {
    let solution = solve(circuit, state, faults, &Sample::NOMINAL).unwrap_or_else(|error| panic!("{name}: {error}"));
    let deck = spice::netlist(circuit, state, faults).unwrap();
    let expected = solution.nodes().skip(1).map(|(node, volts)| (node.to_owned(), volts)).collect();
    Case { name, deck, expected }
}

/// Runs all the decks in one ngspice process and returns each one's node voltages by number.
pub fn ngspice(cases: &[Case]) -> Vec<HashMap<usize, f64>> {
    let folder = tempfile::tempdir().unwrap();
    let mut control = String::from("* all decks\n.control\nset numdgt=15\nset noaskquit\n");
    for (number, case) in cases.iter().enumerate() {
        write(&folder.path().join(format!("{number}.cir")), &case.deck);
        writeln!(control, "source {number}.cir\necho deck {number}\nop\nprint all\nremcirc\ndestroy all").unwrap();
    }
    control.push_str("quit\n.endc\n.end\n");
    write(&folder.path().join("all.cir"), &control);
    let output = Command::new("ngspice").args(["-b", "all.cir"]).current_dir(folder.path()).output();
    let output = output.unwrap_or_else(|error| panic!("ngspice can't be run ({error}): apt-get install ngspice"));
    let text = String::from_utf8_lossy(&output.stdout);
    let mut found = vec![HashMap::new(); cases.len()];
    let mut deck = None;
    for line in text.lines() {
        if let Some(number) = line.strip_prefix("deck ") {
            deck = number.trim().parse::<usize>().ok();
        } else if let (Some(deck), Some((name, value))) = (deck, line.split_once(" = "))
            && let (Some(node), Ok(volts)) = (name.trim().strip_prefix('n'), value.trim().parse())
            && let Ok(node) = node.parse::<usize>()
        {
            found[deck].insert(node, volts);
        }
    }
    if std::env::var_os("OHMWRIGHT_SHOW_SPICE").is_some() {
        eprintln!("{text}\n{}", String::from_utf8_lossy(&output.stderr));
    }
    found
}

fn write(path: &std::path::Path, text: &str) {
    std::fs::write(path, text).unwrap();
}

/// Compares every node; the number of comparisons and the largest relative difference.
fn compare(cases: &[Case]) -> (usize, f64, Vec<String>) {
    let (mut count, mut largest, mut wrong) = (0, 0.0f64, Vec::new());
    for (case, found) in cases.iter().zip(ngspice(cases)) {
        let highest = case.expected.iter().map(|(_, volts)| volts.abs()).fold(1e-3, f64::max);
        for (number, (node, expected)) in case.expected.iter().enumerate() {
            let Some(volts) = found.get(&(number + 1)) else {
                wrong.push(format!("{}: ngspice gives nothing for {node}", case.name));
                continue;
            };
            count += 1;
            // A relative difference; of what is below a thousandth of the highest voltage in the network, relative to that:
            // there all is rounding of the large voltages. In decks with steps and kinks ngspice stops once it is within its
            // own tolerance of them, so there what is below a volt is held to a microvolt, a hundredth of what the finest
            // range of a meter shows.
            let floor = if case.deck.contains(".nodeset") { 1.0 } else { highest * 1e-3 };
            let difference = (volts - expected).abs() / expected.abs().max(floor);
            largest = largest.max(difference);
            if difference.is_nan() || difference > 1e-6 {
                wrong.push(format!("{}: {node} is {expected} V, ngspice says {volts} V", case.name));
            }
        }
    }
    (count, largest, wrong)
}

#[test]
fn every_point_of_every_shipped_circuit_agrees_in_every_fault_and_state() {
    let (mut total, mut all, mut decks, mut same, mut other) = (0, 0, 0, 0, Vec::new());
    let (mut failures, mut unsteady, mut not_converged) = (Vec::new(), Vec::new(), Vec::new());
    for (file, circuit) in shipped_circuits() {
        let mut cases = Vec::new();
        for faults in fault_sets(&circuit) {
            for (state_name, state) in states(&circuit) {
                let fault = faults.first().map_or("healthy".to_owned(), |fault| fault.to_string());
                let name = format!("{file}, {fault}, {state_name}");
                // What finds no rest has no operating point to compare.
                if solve(&circuit, &state, &faults, &Sample::NOMINAL).unwrap().unsteady().next().is_some() {
                    unsteady.push(name);
                } else {
                    cases.push(case(name, &circuit, &state, &faults));
                }
            }
        }
        // A deck on which ngspice comes to no rest compares nothing.
        let silent = |(case, found): (&Case, HashMap<usize, f64>)| found.is_empty().then(|| case.name.clone());
        let names: Vec<String> = cases.iter().zip(ngspice(&cases)).filter_map(silent).collect();
        cases.retain(|case| !names.contains(&case.name));
        not_converged.extend(names);
        all += cases.len();
        let (count, largest, wrong) = compare(&cases);
        eprintln!("{file}: {} decks, {count} voltages agree, largest relative difference {largest:.1e}", cases.len());
        if !wrong.is_empty() {
            failures.push(format!("{} of {count} differ:\n{}", wrong.len(), wrong[..wrong.len().min(12)].join("\n")));
        }
        total += count;
        let cold: Vec<Case> = cases.iter().filter(|case| case.deck.contains(".nodeset")).map(cold).collect();
        let (found, otherwise) = found_cold(&cold);
        (decks, same) = (decks + cold.len(), same + found);
        other.extend(otherwise);
    }
    eprintln!(
        "{decks} decks with steps or kinks: ngspice finds the same in {same} by itself, another in {}",
        other.len()
    );
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert!(not_converged.len() * 100 <= all * 3, "{} of {all}: {not_converged:#?}", not_converged.len());
    // A battery that gives way under the solenoid has it chatter, and a relay whose contact feeds its own control wire buzzes.
    let restless = ["starter.toml, ", "relay_low_side.toml, control_wire_touches_load_wire, "];
    let expected = |name: &String| restless.iter().any(|start| name.starts_with(start));
    assert!(
        unsteady.iter().all(expected) && unsteady.len() * 100 <= all * 3,
        "{} of {all}: {unsteady:#?}",
        unsteady.len()
    );
    // One fault leaves a sensor with two solutions, on and off.
    assert!(other.iter().all(|name| name.starts_with("flap_sensor.toml, connector_pins_swapped")), "{other:#?}");
    assert!(same * 100 >= decks * 90, "{same} of {decks}");
    assert!(total > 10_000, "only {total} comparisons");
}

/// The same deck without a word on where to begin, for a solver that gives up sooner.
fn cold(case: &Case) -> Case {
    let lines = case.deck.lines().filter(|line| !line.starts_with(".nodeset"));
    let deck = lines.fold(String::new(), |deck, line| deck + line + "\n").replace("itl1=2000", "itl1=100");
    Case { name: case.name.clone(), deck, expected: case.expected.clone() }
}

/// With the hint ngspice confirms a solution; without it, it has to find one. The names of those that it finds otherwise, and
/// how many it finds so; where it does not come to rest it says nothing.
fn found_cold(cases: &[Case]) -> (usize, Vec<String>) {
    let (mut same, mut other) = (0, Vec::new());
    for (case, found) in cases.iter().zip(ngspice(cases)) {
        let differs = |(number, (_, volts)): (usize, &(String, f64))| {
            found.get(&(number + 1)).map(|found| (found - volts).abs() / volts.abs().max(1.0) > 1e-6)
        };
        match case.expected.iter().enumerate().map(differs).collect::<Option<Vec<bool>>>() {
            Some(differ) if !differ.contains(&true) => same += 1,
            Some(_) => other.push(case.name.clone()),
            None => {}
        }
    }
    (same, other)
}

fn random_cases(seeds: std::ops::Range<u64>, with_diodes: bool) -> Vec<Case> {
    let circuits = seeds.map(|seed| {
        let circuit = file::parse(&crate::random_network(seed, with_diodes), "random").unwrap();
        case(format!("random network {seed}"), &circuit, circuit.start(), &[])
    });
    circuits.collect()
}

#[test]
fn relays_with_suppression_and_solenoids_agree() {
    use crate::parts::{relay, starter};
    let circuits = [
        ("diode", relay("diode", "fed", "0")),
        ("diode the other way", relay("diode", "0", "fed")),
        ("resistor", relay("720 ohm", "fed", "0")),
        ("12 V starter", starter("0.18 ohm", "0.8 ohm", "12 V")),
        ("24 V starter", starter("0.42 ohm", "1.54 ohm", "24 V")),
    ];
    let mut cases = Vec::new();
    for (name, circuit) in &circuits {
        for faults in fault_sets(circuit) {
            for (state_name, state) in states(circuit) {
                // With its hold-in winding open a solenoid finds no rest.
                let fault = faults.first().map_or("healthy", |fault| fault.0.as_str());
                if fault != "hold_in_open" {
                    cases.push(case(format!("{name}, {fault}, {state_name}"), circuit, &state, &faults));
                }
            }
        }
    }
    let (count, largest, wrong) = compare(&cases);
    eprintln!("parts: {} decks, {count} voltages agree, largest relative difference {largest:.1e}", cases.len());
    assert!(wrong.is_empty(), "{} of {count} differ:\n{}", wrong.len(), wrong[..wrong.len().min(12)].join("\n"));
    assert!(count > 200, "only {count} comparisons");
}

#[test]
fn a_thousand_random_networks_agree() {
    let cases = random_cases(0..1000, false);
    let (count, largest, wrong) = compare(&cases);
    eprintln!("random: {} decks, {count} voltages agree, largest relative difference {largest:.1e}", cases.len());
    assert!(wrong.is_empty(), "{} of {count} differ:\n{}", wrong.len(), wrong[..wrong.len().min(12)].join("\n"));
    assert!(count > 5_000, "only {count} comparisons");
}

#[test]
fn random_networks_with_diodes_agree() {
    let cases = random_cases(10_000..10_300, true);
    let (count, largest, wrong) = compare(&cases);
    eprintln!("with diodes: {} decks, {count} voltages agree, largest relative difference {largest:.1e}", cases.len());
    assert!(wrong.is_empty(), "{} of {count} differ:\n{}", wrong.len(), wrong[..wrong.len().min(12)].join("\n"));
}
