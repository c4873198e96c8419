//! AC volts and frequency, worked out by hand and held against ngspice.
#![expect(
    clippy::disallowed_macros,
    clippy::disallowed_methods,
    reason = "a test runs another program on decks in a folder, and tells how many comparisons it made"
)]
use crate::parts::{near, text};
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::{Shown, bench_meter};
use ohmwright::circuit::sample::Sample;
use ohmwright::model::meter::{Function, Meter};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::f64::consts::{PI, SQRT_2};
use std::fmt::Write;
use std::process::Command;
use std::sync::Arc;

/// A wheel that turns at 6000 rpm: one tooth makes 100 Hz.
const WHEEL: &str =
    r#"movement = [{ id = "wheel", what = "a wheel", from = "0 rpm", to = "6000 rpm", start = "6000 rpm" }]"#;

fn bench(points: &[&str], parts: &str, faults: &str, there: &[&str]) -> Bench {
    let circuit = file::parse(&text(points, WHEEL, parts, faults), "ac").unwrap_or_else(|error| panic!("{error}"));
    let there: Vec<FaultId> = there.iter().map(|fault| FaultId::from(*fault)).collect();
    Bench::new(Arc::new(circuit), &there, Sample::NOMINAL, bench_meter()).unwrap()
}

/// A sensor of so many volts RMS, ohms, henries and teeth.
fn sensor(id: &str, (from, to): (&str, &str), (volts, ohms, henries, teeth): (f64, f64, f64, u32)) -> String {
    format!(
        r#"{{ id = "{id}", kind = "inductive_sensor", from = "{from}", to = "{to}", resistance = "{ohms} ohm", inductance = "{henries} H", speed = "wheel", teeth = {teeth}, volts = "{volts} V" }},"#
    )
}

#[track_caller]
fn ac(bench: &mut Bench, red: &str, black: &str) -> f64 {
    bench.ac_volts(red, black).unwrap().exact
}

#[test]
fn ten_volts_at_thirty_percent_read_4_583_volts_ac() {
    // √(0.3 · 10² − (0.3 · 10)²) = √21
    let parts = r#"
        { id = "battery", kind = "battery", positive = "plus", negative = "0", volts = "10 V", resistance = "1 uohm" },
        { id = "output", kind = "module_output", pin = "pin", supply = "plus", ground = "0", side = "high", resistance = "1 uohm", duty = "30 %", frequency = "100 Hz" },
        { id = "load", kind = "resistor", from = "pin", to = "0", resistance = "1 kohm" },"#;
    let mut bench = bench(&["plus", "pin", "0"], parts, "", &[]);
    near(ac(&mut bench, "pin", "0"), 21f64.sqrt(), 1e-6);
    assert_eq!(bench.ac_volts("pin", "0").unwrap().text(), "4.583 V");
    near(bench.volts("pin", "0").unwrap().exact, 3.0, 1e-6);
    // Behind a battery of no resistance nothing swings.
    near(ac(&mut bench, "plus", "0"), 0.0, 1e-4);
    near(ac(&mut bench, "pin", "pin"), 0.0, 0.0);
}

#[test]
fn outputs_that_switch_apart_add_as_squares() {
    // 12 V at 25 and at 50 % into 1 kohm each, a third resistor joins them. An output is open between its pulses, so the middle stands
    // at 8 V with both on, at 6 V with one, else at 0 V: mean 4 V, mean of the squares 26 V², √(26 − 4²) = √10.
    let output = |id: &str, duty: u32, hertz: u32| {
        format!(
            r#"{{ id = "{id}", kind = "module_output", pin = "{id}_pin", supply = "plus", ground = "0", side = "high", resistance = "1 uohm", duty = "{duty} %", frequency = "{hertz} Hz" }},
            {{ id = "{id}_load", kind = "resistor", from = "{id}_pin", to = "middle", resistance = "1 kohm" }},"#
        )
    };
    let parts = format!(
        r#"{{ id = "battery", kind = "battery", positive = "plus", negative = "0", volts = "12 V", resistance = "1 uohm" }}, {}{}
        {{ id = "to_ground", kind = "resistor", from = "middle", to = "0", resistance = "1 kohm" }},"#,
        output("one", 25, 100),
        output("other", 50, 400)
    );
    let mut bench = bench(&["plus", "one_pin", "other_pin", "middle", "0"], &parts, "", &[]);
    near(ac(&mut bench, "middle", "0"), 10f64.sqrt(), 1e-3);
}

#[test]
fn voltages_of_one_frequency_add_as_they_swing_and_others_as_squares() {
    let read = |teeth: u32, ends: (&str, &str)| {
        let parts =
            sensor("one", ("m", "0"), (1.0, 1e-3, 1e-9, 1)) + sensor("other", ends, (1.0, 1e-3, 1e-9, teeth)).as_str();
        ac(&mut bench(&["m", "p", "0"], &parts, "", &[]), "p", "0")
    };
    near(read(10, ("p", "m")), SQRT_2, 1e-6);
    near(read(1, ("p", "m")), 2.0, 1e-6);
    near(read(1, ("m", "p")), 0.0, 1e-6);
}

#[test]
fn one_volt_behind_800_ohm_and_half_a_henry_into_5_kohm_is_0_758_volts() {
    let parts = sensor("sensor", ("p", "0"), (1.0, 800.0, 0.5, 10))
        + r#"{ id = "load", kind = "resistor", from = "p", to = "0", resistance = "5 kohm" },"#;
    let faults = r#"{ id = "far", cause = "x", set = { part = "sensor", value = "2 mm" } },
        { id = "corroded", cause = "x", added_resistance = { part = "sensor", ohms = "1 kohm" } }, { id = "open", cause = "x", open = "sensor" },"#;
    let points = &["p", "0"];
    let expected = 5000.0 / 5800f64.hypot(2.0 * PI * 1000.0 * 0.5);
    let mut healthy = bench(points, &parts, faults, &[]);
    // The meter's 10 Mohm takes a little of it.
    near(ac(&mut healthy, "p", "0"), expected, 2e-4);
    assert_eq!(healthy.ac_volts("p", "0").unwrap().text(), "0.758 V");
    near(healthy.hertz("p", "0").unwrap().exact, 1000.0, 1e-9);
    near(healthy.volts("p", "0").unwrap().exact, 0.0, 1e-12);
    // Twice the gap, half the volts; less than a volt from peak to peak makes no meter count.
    let mut far = bench(points, &parts, faults, &["far"]);
    near(ac(&mut far, "p", "0"), expected / 2.0, 2e-4);
    let mut corroded = bench(points, &parts, faults, &["corroded"]);
    near(ac(&mut corroded, "p", "0"), 5000.0 / 6800f64.hypot(2.0 * PI * 1000.0 * 0.5), 2e-4);
    near(ac(&mut bench(points, &parts, faults, &["open"]), "p", "0"), 0.0, 1e-9);
    // A quarter of the speed, a quarter of the volts and of the frequency.
    let mut state = healthy.state().clone();
    state.positions.insert("wheel".to_owned(), "1500 rpm".to_owned());
    healthy.set_state(&state).unwrap();
    near(ac(&mut healthy, "p", "0"), 0.25 * 5000.0 / 5800f64.hypot(2.0 * PI * 250.0 * 0.5), 2e-4);
    near(healthy.hertz("p", "0").unwrap().exact, 0.0, 0.0);
    state.positions.insert("wheel".to_owned(), "0 rpm".to_owned());
    healthy.set_state(&state).unwrap();
    near(ac(&mut healthy, "p", "0"), 0.0, 0.0);
}

#[test]
fn a_reading_at_which_a_part_does_not_stay_as_it_rests_is_refused_with_its_name() {
    let rectified = |volts: f64| {
        let parts = sensor("sensor", ("p", "0"), (volts, 100.0, 0.1, 10))
            + r#"{ id = "D1", kind = "diode", from = "p", to = "q", forward = "0.6 V" }, { id = "load", kind = "resistor", from = "q", to = "0", resistance = "1 kohm" },"#;
        bench(&["p", "q", "0"], &parts, "", &[]).ac_volts("p", "0")
    };
    // A peak of 0.57 V does not reach the diode's 0.6 V, one of 0.71 V does.
    near(rectified(0.4).unwrap().exact, 0.4, 1e-4);
    let refused = rectified(0.5).unwrap_err().to_string();
    assert_eq!(
        refused,
        "AC volts can't be told here: they swing so far that `D1` does not stay in the state in which it rests"
    );
}

#[test]
fn the_meters_ranges_have_limits_in_hertz() {
    let parts = sensor("sensor", ("p", "0"), (1.0, 100.0, 0.1, 1));
    let mut bench = bench(&["p", "0"], &parts, "", &[]);
    let mut state = bench.state().clone();
    state.positions.insert("wheel".to_owned(), "2340 rpm".to_owned());
    bench.set_state(&state).unwrap();
    let refused = bench.ac_volts("p", "0").unwrap_err().to_string();
    assert_eq!(refused, "the meter `bench` shows AC volts from 40 Hz to 2 kHz; here they have 39 Hz");
    state.positions.insert("wheel".to_owned(), "2400 rpm".to_owned());
    bench.set_state(&state).unwrap();
    near(ac(&mut bench, "p", "0"), 0.4, 1e-5);
    // A meter without such a range, and one whose range says nothing of hertz.
    let meter = |keep: bool| {
        let all = bench_meter();
        let ranges = all.ranges.into_iter().filter(|range| keep || range.function != Function::AcVolts);
        let ranges = ranges.map(|range| ohmwright::model::meter::Range { lowest_hertz: None, ..range }).collect();
        Meter { ranges, ..bench_meter() }
    };
    let with = |meter: Meter| {
        let circuit = file::parse(&text(&["p", "0"], WHEEL, &parts, ""), "ac").unwrap();
        let mut bench = Bench::new(Arc::new(circuit), &[], Sample::NOMINAL, meter).unwrap();
        let mut slow = bench.state().clone();
        slow.positions.insert("wheel".to_owned(), "600 rpm".to_owned());
        bench.set_state(&slow).unwrap();
        bench.ac_volts("p", "0")
    };
    assert_eq!(with(meter(false)).unwrap_err().to_string(), "the meter `bench` has no range for AC volts");
    near(with(meter(true)).unwrap().exact, 0.1, 1e-5);
}

#[test]
fn an_alternators_ripple_is_what_it_gives() {
    let parts = r#"
        { id = "alternator", kind = "alternator", output = "out", ground = "0", volts = "14.4 V", limit = "100 A", works_when = { engine = "running" } },
        { id = "cable", kind = "wire", from = "out", to = "plus", resistance = "9 mohm" },
        { id = "battery", kind = "battery", positive = "plus", negative = "0", volts = "12.6 V", resistance = "10 mohm" },
        { id = "lamps", kind = "lamp", from = "plus", to = "0", volts = "12 V", amperes = "10 A" },
        { id = "blower", kind = "motor", from = "plus", to = "0", winding = "0.3 ohm", load = "8 A" },"#;
    let faults = r#"{ id = "diode", cause = "x", open = "alternator.diode" }, { id = "phase", cause = "x", open = "alternator.phase" },"#;
    for (there, ripple) in [(&[][..], 0.05), (&["diode"], 0.5), (&["phase"], 0.5)] {
        let mut bench = bench(&["out", "plus", "0"], parts, faults, there);
        // A filament's ohms are its volts by its amperes, a motor's are those of its winding.
        let lamp = bench.solution().unwrap().amperes("lamps").unwrap() / bench.true_volts("plus", "0").unwrap().si();
        let across_battery = 1.0 / (100.0 + lamp + 1.0 / 0.3);
        let expected = ripple * across_battery / (across_battery + 0.009 + 0.001);
        near(ac(&mut bench, "plus", "0"), expected, 1e-6);
        let mut stopped = bench.state().clone();
        stopped.engine = ohmwright::model::vehicle::Engine::Stopped;
        bench.set_state(&stopped).unwrap();
        assert_eq!(bench.ac_volts("plus", "0").unwrap().shown, Shown::Value("0 V".parse().unwrap()));
    }
    // Open cable: the whole of it stands at the alternator.
    let open = r#"{ id = "cut", cause = "x", open = "cable" },"#;
    near(ac(&mut bench(&["out", "plus", "0"], parts, open, &["cut"]), "out", "0"), 0.05, 1e-6);
}

/// A random network of sensors of one frequency, coils, resistors and batteries: as a circuit's parts, and as a deck that is
/// written from what they mean, the meter at `p1`.
fn random(seed: u64) -> (String, String, usize, f64) {
    let mut random = StdRng::seed_from_u64(seed);
    let nodes = random.random_range(2..=8usize);
    let teeth = random.random_range(1..=20u32);
    let (mut parts, mut deck) = (String::new(), format!("* {seed}\nRmeter p1 0 10e6\n"));
    for number in 0..nodes + random.random_range(0..=nodes) {
        let to = if number < nodes { number + 1 } else { random.random_range(1..=nodes) };
        let from = if number < nodes { random.random_range(0..to) } else { (to + 1) % (nodes + 1) };
        let ohms = 10f64.powf(random.random_range(0.0..5.0));
        let henries = 10f64.powf(random.random_range(-4.0..1.0));
        let name = |node: usize| if node == 0 { "0".to_owned() } else { format!("p{node}") };
        let (a, b) = (name(from), name(to));
        match random.random_range(0..4) {
            0 => {
                let volts = random.random_range(0.1..5.0);
                parts += sensor(&format!("s{number}"), (&a, &b), (volts, ohms, henries, teeth)).as_str();
                // It drives current out of `from`, so that `from` is its positive end.
                writeln!(deck, "V{number} {a} v{number} dc 0 ac {volts}\nR{number} v{number} w{number} {ohms}")
                    .unwrap();
                writeln!(deck, "L{number} w{number} {b} {henries}").unwrap();
            }
            1 => {
                writeln!(parts, r#"{{ id = "c{number}", kind = "coil", from = "{a}", to = "{b}", resistance = "{ohms} ohm", inductance = "{henries} H" }},"#).unwrap();
                writeln!(deck, "R{number} {a} w{number} {ohms}\nL{number} w{number} {b} {henries}").unwrap();
            }
            2 => {
                writeln!(parts, r#"{{ id = "b{number}", kind = "battery", positive = "{a}", negative = "{b}", volts = "6 V", resistance = "{ohms} ohm" }},"#).unwrap();
                writeln!(deck, "V{number} {a} w{number} dc 6\nR{number} w{number} {b} {ohms}").unwrap();
            }
            _ => {
                writeln!(
                    parts,
                    r#"{{ id = "r{number}", kind = "resistor", from = "{a}", to = "{b}", resistance = "{ohms} ohm" }},"#
                )
                .unwrap();
                writeln!(deck, "R{number} {a} {b} {ohms}").unwrap();
            }
        }
    }
    (parts, deck, nodes, 100.0 * f64::from(teeth))
}

#[test]
fn ngspice_reads_the_same() {
    const NETWORKS: u64 = 200;
    let folder = tempfile::tempdir().unwrap();
    let mut control = String::from("* all\n.control\nset numdgt=15\nset noaskquit\n");
    let mut expected = Vec::new();
    let mut add = |parts: &str, deck: &str, points: &[&str], hertz: f64, control: &mut String| {
        let number = expected.len();
        expected.push(ac(&mut bench(points, parts, "", &[]), "p1", "0"));
        std::fs::write(folder.path().join(format!("{number}.cir")), format!("{deck}.end\n")).unwrap();
        writeln!(
            control,
            "source {number}.cir\nac lin 1 {hertz} {hertz}\nlet found{number}=mag(v(p1))\nprint found{number}\nremcirc\ndestroy all"
        )
        .unwrap();
    };
    let load = r#"{ id = "load", kind = "resistor", from = "p1", to = "0", resistance = "5 kohm" },"#;
    let worked = sensor("sensor", ("p1", "0"), (1.0, 800.0, 0.5, 10)) + load;
    let deck = "* worked\nV1 p1 a dc 0 ac 1\nR1 a b 800\nL1 b 0 0.5\nR2 p1 0 5000\nRmeter p1 0 10e6\n";
    add(&worked, deck, &["p1", "0"], 1000.0, &mut control);
    for seed in 0..NETWORKS {
        let (parts, deck, nodes, hertz) = random(seed);
        let names: Vec<String> = (1..=nodes).map(|node| format!("p{node}")).chain(["0".to_owned()]).collect();
        add(&parts, &deck, &names.iter().map(String::as_str).collect::<Vec<_>>(), hertz, &mut control);
    }
    control.push_str("quit\n.endc\n.end\n");
    std::fs::write(folder.path().join("all.cir"), &control).unwrap();
    let output = Command::new("ngspice").args(["-b", "all.cir"]).current_dir(folder.path()).output();
    let output = output.unwrap_or_else(|error| panic!("ngspice can't be run ({error}): apt-get install ngspice"));
    let text = String::from_utf8_lossy(&output.stdout);
    let mut largest = 0.0f64;
    let mut swinging = 0;
    for (number, expected) in expected.iter().enumerate() {
        let line = text.lines().find_map(|line| line.strip_prefix(&format!("found{number} = ")));
        let found: f64 = line.unwrap_or_else(|| panic!("nothing for {number}: {text}")).trim().parse().unwrap();
        let difference = (found - expected).abs() / expected.abs().max(1e-3);
        assert!(difference < 1e-6, "network {number}: {expected} V, ngspice says {found} V");
        largest = largest.max(difference);
        swinging += usize::from(*expected > 1e-3);
    }
    assert!(swinging > 100, "{swinging} of {NETWORKS} have a voltage");
    eprintln!("{swinging} alternating voltages agree, largest relative difference {largest:.1e}");
}
