//! Parts, each worked out by hand.
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::file;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::{Solution, solve};
use ohmwright::model::vehicle::VehicleState;

/// A circuit of these points, parts and faults; zero volts is `0`.
pub fn circuit(points: &[&str], parts: &str, faults: &str) -> Circuit {
    file::parse(&text(points, "", parts, faults), "parts").unwrap_or_else(|error| panic!("{error}"))
}

/// The same as a file's text, with other lines before the parts.
pub fn text(points: &[&str], lines: &str, parts: &str, faults: &str) -> String {
    let points: Vec<_> = points.iter().map(|point| format!("{{ id = \"{point}\" }}")).collect();
    format!(
        "title = \"parts\"\nzero_volts = \"0\"\nstart = {{ key = \"on\", engine = \"running\" }}\npoint = [{}]\n{lines}\npart = [{parts}]\nfault = [{faults}]\n",
        points.join(", ")
    )
}

pub fn with_faults<'c>(circuit: &'c Circuit, faults: &[&str]) -> Solution<'c> {
    let faults: Vec<FaultId> = faults.iter().map(|fault| FaultId::from(*fault)).collect();
    solve(circuit, circuit.start(), &faults, &Sample::NOMINAL).unwrap()
}

#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not {expected} ± {tolerance}");
}

const BATTERY: &str = r#"{ id = "battery", kind = "battery", positive = "plus", negative = "0", volts = "12 V", resistance = "1 mohm" },"#;

fn relay(suppression: &str, from: &str, to: &str) -> Circuit {
    let relay = format!(
        r#"{BATTERY}
        {{ id = "K1", kind = "relay", coil_from = "{from}", coil_to = "{to}", common = "plus", normally_open = "out", coil = "80 ohm", pulls_in = "7 V", suppression = "{suppression}" }},
        {{ id = "lamp", kind = "resistor", from = "out", to = "0", resistance = "10 ohm" }},
        {{ id = "feed", kind = "resistor", from = "plus", to = "fed", resistance = "40 ohm" }},"#
    );
    let faults = r#"{ id = "open", cause = "x", open = "K1.suppression" }, { id = "shorted", cause = "x", shorted = "K1.suppression" },"#;
    circuit(&["plus", "fed", "out", "0"], &relay, faults)
}

#[test]
fn a_suppression_diode_conducts_only_where_the_coil_is_fed_the_wrong_way_round() {
    let right_way = relay("diode", "fed", "0");
    // 12 V over 40 and 80 ohm: 8 V, the relay pulls in, and an open diode changes nothing.
    for faults in [&[][..], &["open"]] {
        near(with_faults(&right_way, faults).volts("fed", "0").unwrap(), 8.0, 1e-3);
        assert!(with_faults(&right_way, faults).volts("out", "0").unwrap() > 11.9);
    }
    // Shorted: 10 mohm beside the coil.
    near(with_faults(&right_way, &["shorted"]).volts("fed", "0").unwrap(), 12.0 * 0.01 / 40.01, 1e-5);
    // The other way round the diode, 0.6 V and 0.1 ohm, takes the current; the relay stays where it is. Open, it pulls in.
    let wrong_way = relay("diode", "0", "fed");
    let conducting = (12.0 / 40.0 + 6.0) / (1.0 / 40.0 + 1.0 / 80.0 + 10.0);
    near(with_faults(&wrong_way, &[]).volts("fed", "0").unwrap(), conducting, 1e-4);
    assert!(with_faults(&wrong_way, &[]).volts("out", "0").unwrap() < 1e-6);
    near(with_faults(&wrong_way, &["open"]).volts("fed", "0").unwrap(), 8.0, 1e-3);
}

#[test]
fn a_suppression_resistor_lies_beside_the_coil() {
    let circuit = relay("720 ohm", "fed", "0");
    // 80 and 720 ohm side by side are 72 ohm.
    near(with_faults(&circuit, &[]).volts("fed", "0").unwrap(), 12.0 * 72.0 / 112.0, 1e-3);
    near(with_faults(&circuit, &["open"]).volts("fed", "0").unwrap(), 8.0, 1e-3);
    near(with_faults(&circuit, &["shorted"]).volts("fed", "0").unwrap(), 12.0 * 0.01 / 40.01, 1e-4);
}

#[test]
fn a_battery_sags_under_load_by_its_state_of_charge() {
    let parts = |keys: &str| {
        format!(
            r#"{{ id = "battery", kind = "battery", positive = "plus", negative = "0", resistance = "5 mohm", {keys} }},
            {{ id = "starter", kind = "load", from = "plus", to = "0", resistance = "45 mohm" }},"#
        )
    };
    let faults = r#"{ id = "flat", cause = "x", set = { part = "battery", value = "25 %" } }, { id = "empty", cause = "x", drift = { part = "battery", offset = "-60 %" } },"#;
    // Open-circuit volts: US Army TM 5-3805-262-20, p. 5-142. Inner resistance: common practice, no source.
    let twelve = circuit(&["plus", "0"], &parts(r#"charge = "100 %""#), faults);
    near(with_faults(&twelve, &[]).volts("plus", "0").unwrap(), 12.6 * 45.0 / 50.0, 1e-9);
    near(with_faults(&twelve, &["flat"]).volts("plus", "0").unwrap(), 12.0 * 45.0 / 54.0, 1e-9);
    // Two of them in series; 80 % is 12.44 V, 1.08 times the resistance.
    let twenty_four = circuit(&["plus", "0"], &parts(r#"charge = "80 %", nominal = "24 V""#), faults);
    near(with_faults(&twenty_four, &[]).volts("plus", "0").unwrap(), 24.88 * 45.0 / (45.0 + 5.4), 1e-9);
    // 20 % is 11.94 V, and a third of the way from three times to 1.8 times is left.
    let ohms = 5.0 * (3.0 - 1.2 * 2.0 / 3.0);
    near(with_faults(&twenty_four, &["empty"]).volts("plus", "0").unwrap(), 23.88 * 45.0 / (45.0 + ohms), 1e-9);
    for (keys, problem) in [
        (r#"charge = "80 %", volts = "12.6 V""#, "`volts` and `charge` both say it"),
        (r#"charge = "80 %", nominal = "13 V""#, "`nominal` is not 6, 12, 24, 36 or 48 V"),
        (r#"volts = "12.6 V", nominal = "12 V""#, "`nominal` is not a key beside `volts`"),
        (r#"charge = "120 %""#, "`charge` is"),
    ] {
        let error = file::parse(&text(&["plus", "0"], "", &parts(keys), ""), "parts").unwrap_err().to_string();
        assert!(error.contains(problem), "{error}");
    }
}

#[test]
fn an_alternator_without_a_phase_or_a_diode_gives_less_current() {
    let parts = r#"
        { id = "alternator", kind = "alternator", output = "plus", ground = "0", volts = "14.4 V", resistance = "10 mohm", limit = "100 A", works_when = { engine = "running" } },
        { id = "load", kind = "load", from = "plus", to = "0", resistance = "0.1 ohm" },"#;
    let faults = r#"{ id = "diode", cause = "x", open = "alternator.diode" }, { id = "phase", cause = "x", open = "alternator.phase" },"#;
    let circuit = circuit(&["plus", "0"], parts, faults);
    // 14.4 V would drive 131 A: the limit holds. What is left without one: common practice, no source.
    for (faults, amperes) in [(&[][..], 100.0), (&["diode"], 80.0), (&["phase"], 60.0), (&["diode", "phase"], 48.0)] {
        near(with_faults(&circuit, faults).volts("plus", "0").unwrap(), amperes * 0.1, 1e-9);
    }
    let stopped = VehicleState { engine: ohmwright::model::vehicle::Engine::Stopped, ..circuit.start().clone() };
    near(solve(&circuit, &stopped, &[], &Sample::NOMINAL).unwrap().volts("plus", "0").unwrap(), 0.0, 1e-9);
}
