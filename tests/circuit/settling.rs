//! Circuits that come to rest, and those that do not.

use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::{Shown, bench_meter};
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::solve;
use ohmwright::model::vehicle::{Key, VehicleState};
use std::sync::Arc;

fn parsed(points: &[&str], parts: &str) -> Circuit {
    let points: Vec<String> = points.iter().map(|point| format!("{{ id = \"{point}\" }}")).collect();
    let text = format!(
        "title = \"t\"\nzero_volts = \"g\"\nstart = {{ key = \"on\" }}\npoint = [{}]\npart = [{parts}]\n",
        points.join(", ")
    );
    file::parse(&text, "t").unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// A battery, a resistance, a regulator and a load.
fn fed(feed: f64, volts: f64, limit: f64, load: f64) -> Circuit {
    parsed(
        &["b", "in", "out", "g"],
        &format!(
            r#"{{ id = "battery", kind = "battery", positive = "b", negative = "g", volts = "12.6 V ± 0 V", resistance = "10 mohm ± 0 %" }},
            {{ id = "feed", kind = "resistor", from = "b", to = "in", resistance = "{feed} ohm ± 0 %" }},
            {{ id = "reg", kind = "regulator", input = "in", output = "out", ground = "g", volts = "{volts} V ± 0 V", limit = "{limit} A ± 0 %" }},
            {{ id = "load", kind = "resistor", from = "out", to = "g", resistance = "{load} ohm ± 0 %" }}"#
        ),
    )
}

#[test]
fn a_regulator_behind_a_resistance_settles_where_arithmetic_says() {
    let circuit = fed(200.0, 5.0, 0.08, 2000.0);
    let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    // 2.5 mA through 200 ohm is half a volt; the regulator's own 0.1 ohm takes 0.25 mV.
    assert!((solution.volts("in", "g").unwrap() - 12.1).abs() < 1e-3);
    assert!((solution.volts("out", "g").unwrap() - 5.0).abs() < 1e-3);
}

#[test]
fn regulators_settle_behind_every_feed() {
    let mut cases = 0;
    for feed in [1.0, 10.0, 50.0, 100.0, 151.0, 200.0, 500.0, 1e3, 5e3, 20e3] {
        for volts in [3.3, 5.0, 8.0] {
            for limit in [0.02, 0.08, 0.3] {
                for load in [5.0, 50.0, 200.0, 600.0, 2e3, 1e5] {
                    cases += 1;
                    let circuit = fed(feed, volts, limit, load);
                    let case = format!("feed {feed}, {volts} V, {limit} A, load {load}");
                    let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL);
                    let solution = solution.unwrap_or_else(|error| panic!("{case}: {error}"));
                    assert_eq!(solution.unsteady().count(), 0, "{case}");
                    let out = solution.volts("out", "g").unwrap();
                    // What holds it: the set voltage, the limit, or what is left of the battery.
                    let source = 12.61 - 0.01;
                    let held = (volts * load / (load + 0.1)).min(limit * load);
                    let starved = (source - 0.5) * load / (load + feed + 0.01 + 0.1);
                    let expected = held.min(starved.min(source));
                    assert!((out - expected).abs() < 2e-3 * expected, "{case}: {out} V, not {expected} V");
                }
            }
        }
    }
    assert_eq!(cases, 540);
}

/// A relay whose own contact takes its coil's feed away, and lets go of it.
fn chatterer(fuse: &str) -> Circuit {
    parsed(
        &["b", "f", "c", "g"],
        &format!(
            r#"{{ id = "battery", kind = "battery", positive = "b", negative = "g", volts = "12 V ± 0 V", resistance = "10 mohm ± 0 %" }},
            {{ id = "F1", kind = "fuse", from = "b", to = "f", rating = "{fuse}", resistance = "10 mohm ± 0 %" }},
            {{ id = "K1", kind = "relay", coil_from = "c", coil_to = "g", common = "f", normally_closed = "c", coil = "80 ohm ± 0 %", pulls_in = "7 V" }},
            {{ id = "load", kind = "resistor", from = "c", to = "g", resistance = "2 ohm ± 0 %" }}"#
        ),
    )
}

#[test]
fn a_buzzer_is_unsteady_and_reads_its_lowest_and_highest() {
    let circuit = Arc::new(chatterer("30 A"));
    let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    assert_eq!(solution.unsteady().collect::<Vec<_>>(), ["K1"]);
    let (lowest, highest) = solution.lowest_highest("c", "g").unwrap();
    assert!(lowest.abs() < 1e-9 && (highest - 11.8).abs() < 0.1, "{lowest} … {highest}");
    let mut bench = Bench::new(circuit.clone(), &[], Sample::NOMINAL, bench_meter()).unwrap();
    let reading = bench.volts("c", "g").unwrap();
    assert!(matches!(reading.shown, Shown::Unsteady { .. }), "{reading:?}");
    assert!(reading.text().starts_with("0.00 V … 11."), "{}", reading.text());
    // The battery's own voltage gives way by the load's current, which comes and goes; what does not move is steady.
    assert!(matches!(bench.volts("g", "g").unwrap().shown, Shown::Value(_)));
}

#[test]
fn a_fuse_blows_by_the_mean_square_of_its_current_over_the_cycle() {
    // 5.9 A in half of the sets: 4.17 A root mean square. 1.35 × 3 A is 4.05 A, 1.35 × 3.2 A is 4.32 A.
    for (fuse, blows) in [("3 A", true), ("3.2 A", false)] {
        let circuit = chatterer(fuse);
        let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
        assert_eq!(solution.blown().count(), usize::from(blows), "{fuse}");
        assert_eq!(solution.unsteady().count(), usize::from(!blows), "{fuse}");
    }
}

#[test]
fn a_flap_sensor_with_a_kilohm_in_its_ground_is_not_latched_by_voltages_that_never_occur() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/circuits/flap_sensor.toml");
    #[expect(clippy::disallowed_methods, reason = "a test reads the shipped files")]
    let text = std::fs::read_to_string(folder).unwrap();
    let circuit = file::parse(&text, "flap_sensor").unwrap();
    let state = VehicleState { key: Key::On, ..circuit.start().clone() };
    let mut solver = ohmwright::circuit::solver::Solver::new(&circuit, &state, &[], &Sample::NOMINAL).unwrap();
    let wire = circuit.parts().iter().find(|part| part.id == "ground_wire").unwrap();
    let wire = solver.part(&wire.id).unwrap();
    assert!(solver.set_ohms(wire, 1e3));
    solver.solve().unwrap();
    let (signal, ground) = (solver.point("C41.3").unwrap(), solver.point("C7.5").unwrap());
    assert!(solver.volts(signal, ground).abs() < 0.05, "{}", solver.volts(signal, ground));
}

/// A module's output in pulses, low side, with a load that is fed through `feed` ohms.
fn low_side(duty: &str, feed: f64) -> Circuit {
    parsed(
        &["b", "m", "f", "pin", "g"],
        &format!(
            r#"{{ id = "battery", kind = "battery", positive = "b", negative = "g", volts = "12 V ± 0 V", resistance = "1 mohm ± 0 %" }},
            {{ id = "power", kind = "resistor", from = "b", to = "m", resistance = "10 mohm" }},
            {{ id = "feed", kind = "resistor", from = "b", to = "f", resistance = "{feed} ohm" }},
            {{ id = "load", kind = "resistor", from = "f", to = "pin", resistance = "50 ohm" }},
            {{ id = "pull", kind = "resistor", from = "pin", to = "g", resistance = "100 kohm" }},
            {{ id = "out", kind = "module_output", side = "low", pin = "pin", supply = "m", ground = "g", duty = "{duty}" }}"#
        ),
    )
}

fn volts(circuit: &Circuit, at: &str) -> f64 {
    solve(circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap().volts(at, "g").unwrap()
}

#[test]
fn a_low_side_in_pulses_takes_in_and_lifts_nothing() {
    for duty in ["10 %", "50 %", "90 %", "100 %"] {
        // Its load's feed is dead: nothing is left but the leak.
        assert!(volts(&low_side(duty, 1e9), "pin") < 0.02, "{duty}");
    }
    // On a sound feed the average of its pulses is as it was.
    assert!((volts(&low_side("50 %", 0.01), "pin") - 6.0).abs() < 0.05);
    assert!(volts(&low_side("100 %", 0.01), "pin") < 0.05);
}

#[test]
fn what_a_sensors_output_takes_goes_to_its_ground() {
    let sensor = |short: &str| {
        let text = format!(
            r#"title = "t"
            zero_volts = "g"
            start = {{ key = "on" }}
            point = [{{ id = "b" }}, {{ id = "r" }}, {{ id = "s" }}, {{ id = "o" }}, {{ id = "g" }}]
            movement = [{{ id = "flap", from = "0 %", to = "100 %", start = "50 %" }}]
            part = [
              {{ id = "battery", kind = "battery", positive = "b", negative = "g", volts = "12 V ± 0 V", resistance = "1 mohm ± 0 %" }},
              {{ id = "five", kind = "battery", positive = "r", negative = "g", volts = "5 V ± 0 V", resistance = "1 mohm ± 0 %" }},
              {{ id = "supply", kind = "resistor", from = "r", to = "s", resistance = "100 ohm ± 0 %" }},
              {{ id = "sensor", kind = "active_sensor", supply = "s", ground = "g", output = "o", moves = "flap", load = "600 ohm", resistance = "100 ohm" }},
              {{ id = "load", kind = "resistor", from = "o", to = "g", resistance = "1 Mohm" }},
              {short}
            ]"#
        );
        file::parse(&text, "t").unwrap_or_else(|error| panic!("{error}"))
    };
    let sound = sensor("");
    let shorted = sensor(r#"{ id = "short", kind = "resistor", from = "o", to = "b", resistance = "1 ohm" }"#);
    // 5 V over 100 and 600 ohm; what comes in from the battery lifts nothing.
    assert!((volts(&sound, "s") - 5.0 * 600.0 / 700.0).abs() < 1e-3, "{}", volts(&sound, "s"));
    assert!((volts(&shorted, "s") - 5.0 * 600.0 / 700.0).abs() < 1e-3, "{}", volts(&shorted, "s"));
    assert!(volts(&shorted, "o") > 11.5);
}

#[test]
fn a_motors_current_is_its_load_and_a_fortieth_of_what_is_beyond() {
    let circuit = parsed(
        &["b", "g"],
        r#"{ id = "battery", kind = "battery", positive = "b", negative = "g", volts = "12 V ± 0 V", resistance = "1 mohm ± 0 %" },
        { id = "motor", kind = "motor", from = "b", to = "g", winding = "0.5 ohm ± 0 %", load = "10 A ± 0 %" }"#,
    );
    let amperes = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap().amperes("motor").unwrap();
    // It turns from 5 V on; standing still it would take 24 A.
    assert!((amperes - (10.0 + (24.0 - 10.0) / 40.0)).abs() < 0.01, "{amperes}");
}
