//! Worked examples from public sources.
//!
//! LIEC is T. R. Kuphaldt, *Lessons in Electric Circuits*, vol I DC; OpenStax is *College Physics 2e*, by module; the
//! others are US Army and Department of Energy handbooks.
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::file;
use ohmwright::circuit::meter;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::{Solution, solve};
use ohmwright::model::quantity::Quantity;
use std::sync::Arc;

/// A circuit of batteries and resistors, `name from to value`: volts with an `@` and its source resistance for a battery.
fn network(parts: &[(&str, &str, &str, &str)]) -> Circuit {
    let mut points: Vec<&str> = parts.iter().flat_map(|(_, from, to, _)| [*from, *to]).collect();
    points.sort_unstable();
    points.dedup();
    let points: Vec<_> = points.iter().map(|point| format!("{{ id = \"{point}\" }}")).collect();
    let parts: Vec<_> = parts
        .iter()
        .map(|(name, from, to, value)| match value.split_once('@') {
            Some((volts, ohms)) => format!(
                "{{ id = \"{name}\", kind = \"battery\", positive = \"{from}\", negative = \"{to}\", volts = \"{volts}\", resistance = \"{ohms}\" }}"
            ),
            None => format!(
                "{{ id = \"{name}\", kind = \"resistor\", from = \"{from}\", to = \"{to}\", resistance = \"{value}\" }}"
            ),
        })
        .collect();
    let text = format!(
        "title = \"worked\"\nzero_volts = \"0\"\nstart = {{ key = \"on\" }}\npoint = [{}]\npart = [{}]\n",
        points.join(","),
        parts.join(",")
    );
    file::parse(&text, "worked").unwrap()
}

fn solved(circuit: &Circuit) -> Solution<'_> {
    solve(circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap()
}

/// An ideal source is one of a microhm here: a part in a million of the smallest load below.
const IDEAL: &str = "1 uohm";

#[track_caller]
fn near(found: f64, published: f64, half_digit: f64) {
    // What is left over is the ideal source's microhm, and a zero's rounding.
    let tolerance = half_digit * 1.001 + 1e-5 * published.abs() + 1e-9;
    assert!((found - published).abs() <= tolerance, "{found} is not {published} ± {half_digit}");
}

#[test]
fn one_load() {
    for (volts, ohms, amperes, half) in [
        // LIEC ch 2: 12 V on a 3 Ω lamp; ch 2 SPICE runs: 10 V and 30 V on 5 Ω.
        (12.0, 3.0, 4.0, 0.0),
        (10.0, 5.0, 2.0, 0.0),
        (30.0, 5.0, 6.0, 0.0),
        // OpenStax m42714: a 12.0 V headlamp of 4.80 Ω hot takes 2.50 A, of 0.350 Ω cold 34.3 A.
        (12.0, 4.8, 2.5, 0.005),
        (12.0, 0.35, 34.3, 0.05),
        // US Army Ordnance subcourse OD0611, lesson 1: 24 V and 6 Ω give 4 A; 120 V and 8 Ω give 15 A.
        (24.0, 6.0, 4.0, 0.0),
        (120.0, 8.0, 15.0, 0.0),
    ] {
        let source = format!("{volts} V@{IDEAL}");
        let circuit = network(&[("b", "a", "0", &source), ("r", "a", "0", &format!("{ohms} ohm"))]);
        near(solved(&circuit).amperes("r").unwrap(), amperes, half);
    }
}

#[test]
fn series() {
    // LIEC ch 5: 9 V over 3 k, 10 k, 5 k. LIEC ch 6: 45 V over 5 k, 10 k, 7.5 k. OpenStax m42356: 12.0 V over 1, 6, 13 Ω.
    // DOE-HDBK-1011/1-92 ES-02 p. 28: 120 V over 40, 60, 100 Ω.
    for (volts, ohms, drops, amperes, half) in [
        (9.0, [3e3, 10e3, 5e3], [1.5, 5.0, 2.5], 0.5e-3, 0.0),
        (45.0, [5e3, 10e3, 7.5e3], [10.0, 20.0, 15.0], 2e-3, 0.0),
        (12.0, [1.0, 6.0, 13.0], [0.6, 3.6, 7.8], 0.6, 0.0005),
        (120.0, [40.0, 60.0, 100.0], [24.0, 36.0, 60.0], 0.6, 0.0),
    ] {
        let [one, two, three] = ohms.map(|ohms| format!("{ohms} ohm"));
        let source = format!("{volts} V@{IDEAL}");
        let circuit = network(&[
            ("b", "a", "0", &source),
            ("r1", "a", "m", &one),
            ("r2", "m", "n", &two),
            ("r3", "n", "0", &three),
        ]);
        let solution = solved(&circuit);
        for ((from, to), drop) in [("a", "m"), ("m", "n"), ("n", "0")].into_iter().zip(drops) {
            near(solution.volts(from, to).unwrap(), drop, half);
        }
        near(solution.amperes("r1").unwrap(), amperes, half);
    }
}

#[test]
fn parallel() {
    // LIEC ch 5: 9 V on 10 k, 2 k, 1 k. LIEC ch 6: 6 V on 1 k, 3 k, 2 k, 11 mA. OpenStax m42356: 12.0 V on 1, 6, 13 Ω, 14.92 A.
    for (volts, ohms, amperes, total, half) in [
        (9.0, [10e3, 2e3, 1e3], [0.9e-3, 4.5e-3, 9e-3], 14.4e-3, 0.0),
        (6.0, [1e3, 3e3, 2e3], [6e-3, 2e-3, 3e-3], 11e-3, 0.0),
        (12.0, [1.0, 6.0, 13.0], [12.0, 2.0, 0.92], 14.92, 0.005),
    ] {
        let [one, two, three] = ohms.map(|ohms| format!("{ohms} ohm"));
        let source = format!("{volts} V@{IDEAL}");
        let circuit = network(&[
            ("b", "a", "0", &source),
            ("r1", "a", "0", &one),
            ("r2", "a", "0", &two),
            ("r3", "a", "0", &three),
        ]);
        let solution = solved(&circuit);
        for (part, amperes) in ["r1", "r2", "r3"].into_iter().zip(amperes) {
            near(solution.amperes(part).unwrap(), amperes, half);
        }
        near(solution.amperes("b").unwrap(), total, half);
    }
}

#[test]
fn a_battery_with_source_resistance() {
    // OpenStax m42357: 12.0 V behind 0.100 Ω on 10.0 Ω: 1.188 A, 11.9 V; on 0.500 Ω: 20.0 A, 10.0 V; grown to 0.500 Ω: 12.0 A, 6.00 V.
    for (inside, load, amperes, volts, half) in [
        ("0.1 ohm", "10 ohm", 1.188, 11.9, 0.05),
        ("0.1 ohm", "0.5 ohm", 20.0, 10.0, 0.0),
        ("0.5 ohm", "0.5 ohm", 12.0, 6.0, 0.0),
    ] {
        let circuit = network(&[("b", "a", "0", &format!("12 V@{inside}")), ("r", "a", "0", load)]);
        let solution = solved(&circuit);
        near(solution.amperes("r").unwrap(), amperes, 0.0005);
        near(solution.volts("a", "0").unwrap(), volts, half);
    }
}

#[test]
fn two_sources() {
    // LIEC ch 10, branch currents: 28 V and 7 V with 4, 2 and 1 Ω; 20, 8 and 1 V across them.
    let circuit = network(&[
        ("b1", "a", "0", &format!("28 V@{IDEAL}")),
        ("b2", "c", "0", &format!("7 V@{IDEAL}")),
        ("r1", "a", "m", "4 ohm"),
        ("r2", "m", "0", "2 ohm"),
        ("r3", "m", "c", "1 ohm"),
    ]);
    let solution = solved(&circuit);
    near(solution.volts("a", "m").unwrap(), 20.0, 0.0);
    near(solution.volts("m", "0").unwrap(), 8.0, 0.0);
    near(solution.volts("m", "c").unwrap(), 1.0, 0.0);
    // OpenStax m42359: branches of 6 Ω, of 18 V with 3 Ω and of 45 V with 2 Ω; 4.75, −3.50 and 8.25 A.
    let circuit = network(&[
        ("r1", "m", "0", "6 ohm"),
        ("b2", "c", "0", "18 V@3 ohm"),
        ("j2", "c", "m", IDEAL),
        ("b3", "d", "0", "45 V@2 ohm"),
        ("j3", "d", "m", IDEAL),
    ]);
    let solution = solved(&circuit);
    near(solution.amperes("r1").unwrap(), 4.75, 0.005);
    near(solution.amperes("b2").unwrap(), -3.5, 0.005);
    near(solution.amperes("b3").unwrap(), 8.25, 0.005);
}

#[test]
fn bridges() {
    // LIEC ch 10, Δ-Y: 10 V on 12 and 18 Ω beside 18 and 12 Ω, 6 Ω across.
    let circuit = network(&[
        ("b", "a", "0", &format!("10 V@{IDEAL}")),
        ("r1", "a", "m", "12 ohm"),
        ("r2", "a", "n", "18 ohm"),
        ("r3", "m", "n", "6 ohm"),
        ("r4", "m", "0", "18 ohm"),
        ("r5", "n", "0", "12 ohm"),
    ]);
    let solution = solved(&circuit);
    near(solution.volts("a", "m").unwrap(), 4.706, 0.0005);
    near(solution.volts("a", "n").unwrap(), 5.294, 0.0005);
    near(solution.volts("m", "n").unwrap(), 0.5882, 0.00005);
    // OpenStax m42362: balanced with R2/R1 = 0.625 and R3 = 2500 Ω at Rx = 1.5625 kΩ (1.56 kΩ as printed).
    let circuit = network(&[
        ("b", "a", "0", &format!("10 V@{IDEAL}")),
        ("r1", "a", "m", "1000 ohm"),
        ("r2", "m", "0", "625 ohm"),
        ("r3", "a", "n", "2500 ohm"),
        ("rx", "n", "0", "1562.5 ohm"),
    ]);
    near(solved(&circuit).volts("m", "n").unwrap(), 0.0, 0.0);
}

#[test]
fn meters_load_the_circuit() {
    // LIEC ch 8, voltmeter impact: 24 V over twice 250 MΩ, a 10 MΩ voltmeter reads 0.8889 V instead of 12 V, 23.1111 V above.
    let circuit = network(&[("b", "a", "0", "24 V@1 ohm"), ("r1", "a", "m", "250 Mohm"), ("r2", "m", "0", "250 Mohm")]);
    near(solved(&circuit).volts("m", "0").unwrap(), 12.0, 0.0);
    let mut bench = Bench::new(Arc::new(circuit), &[], Sample::NOMINAL, meter::bench_meter()).unwrap();
    near(bench.volts("m", "0").unwrap().exact, 0.8889, 0.00005);
    // OpenStax m42360: 1.585 V behind 0.100 Ω, a 1.00 kΩ voltmeter: 1.5848 V.
    let circuit = network(&[("b", "a", "0", "1.585 V@0.1 ohm"), ("leak", "a", "0", "100 Gohm")]);
    let meter = ohmwright::model::meter::Meter { input_resistance: Quantity::ohms(1000.0), ..meter::bench_meter() };
    let mut bench = Bench::new(Arc::new(circuit), &[], Sample::NOMINAL, meter).unwrap();
    near(bench.volts("a", "0").unwrap().exact, 1.5848, 0.00005);
    // LIEC ch 8, ammeter design: 12 V, 15 kΩ and a 1 Ω shunt: 0.7999 mA.
    let circuit = network(&[("b", "a", "0", &format!("12 V@{IDEAL}")), ("r", "a", "0", "15 kohm")]);
    let mut bench = Bench::new(Arc::new(circuit), &[], Sample::NOMINAL, meter::bench_meter()).unwrap();
    near(bench.amperes_through("r").unwrap().exact * 1e3, 0.7999, 0.00005);
}
