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

pub fn relay(suppression: &str, from: &str, to: &str) -> Circuit {
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

/// A starter: battery, a start switch that closes with the key, a solenoid whose motor's brushes may be open.
pub fn starter(pull_in: &str, hold_in: &str, volts: &str) -> Circuit {
    let parts = format!(
        r#"
        {{ id = "battery", kind = "battery", positive = "plus", negative = "0", volts = "{volts}", resistance = "5 mohm" }},
        {{ id = "start", kind = "switch", from = "plus", to = "s", resistance = "1 mohm", closed_when = {{ key = "on" }} }},
        {{ id = "solenoid", kind = "solenoid", control = "s", supply = "plus", motor = "m", ground = "0", pull_in = "{pull_in}", hold_in = "{hold_in}", pulls_in = "7 V", drops_out = "3 V" }},
        {{ id = "motor", kind = "resistor", from = "m", to = "0", resistance = "40 mohm" }},"#
    );
    let faults = r#"{ id = "pull_in_open", cause = "x", open = "solenoid.pull_in" }, { id = "hold_in_open", cause = "x", open = "solenoid.hold_in" },
        { id = "brushes_open", cause = "x", open = "motor" }, { id = "contacts_open", cause = "x", open = "solenoid.contacts" },
        { id = "welded", cause = "x", stuck = { part = "solenoid", at = "closed" } }, { id = "burnt", cause = "x", added_resistance = { part = "solenoid", ohms = "50 mohm" } },"#;
    circuit(&["plus", "s", "m", "0"], &parts, faults)
}

#[test]
fn a_solenoid_pulls_in_with_both_windings_holds_with_one_and_lets_go_when_s_opens() {
    use ohmwright::circuit::bench::Bench;
    use ohmwright::circuit::meter::bench_meter;
    use ohmwright::model::vehicle::Key;
    let circuit = std::sync::Arc::new(starter("0.18 ohm", "0.8 ohm", "12 V"));
    let in_states = |faults: &[&str], keys: &[Key]| -> Vec<f64> {
        let faults: Vec<FaultId> = faults.iter().map(|fault| FaultId::from(*fault)).collect();
        let mut bench = Bench::new(circuit.clone(), &faults, Sample::NOMINAL, bench_meter()).unwrap();
        let in_state = |key: &Key| {
            let state = VehicleState { key: *key, ..circuit.start().clone() };
            bench.set_state(&state).unwrap();
            bench.volts("m", "0").unwrap().exact
        };
        keys.iter().map(in_state).collect()
    };
    let off_on_off = [Key::Off, Key::On, Key::Off];
    let healthy = in_states(&[], &off_on_off);
    // 12 V behind 5 mohm on 40 mohm and the contact; the hold-in winding takes some of it.
    assert!(healthy[0].abs() < 1e-9 && healthy[1] > 10.4 && healthy[1] < 10.7, "{healthy:?}");
    // S opens: 12 V through 0.18 and 0.8 ohm in series pull against each other and do not hold it.
    assert!(healthy[2].abs() < 1e-9, "{healthy:?}");
    // Pull-in open: the hold-in winding alone does not pull it in. Brushes open: the pull-in winding has no ground.
    for fault in ["pull_in_open", "brushes_open", "contacts_open"] {
        let volts = in_states(&[fault], &off_on_off)[1];
        let expected = if fault == "brushes_open" { 11.85..12.0 } else { -1e-9..2.3 };
        assert!(expected.contains(&volts), "{fault}: {volts}");
    }
    let solution = with_faults(&circuit, &["brushes_open"]);
    near(solution.volts("s", "m").unwrap(), 0.0, 1e-6);
    // Welded: the motor runs with the key off, too.
    assert!(in_states(&["welded"], &off_on_off).iter().all(|volts| *volts > 10.0));
    let burnt = in_states(&["burnt"], &off_on_off)[1];
    assert!((3.0..6.5).contains(&burnt), "{burnt}");
}

#[test]
fn a_solenoid_without_its_hold_in_winding_chatters() {
    let circuit = std::sync::Arc::new(starter("0.18 ohm", "0.8 ohm", "12 V"));
    let open = [FaultId::from("hold_in_open")];
    let mut bench = ohmwright::circuit::bench::Bench::new(
        circuit,
        &open,
        Sample::NOMINAL,
        ohmwright::circuit::meter::bench_meter(),
    )
    .unwrap();
    let shown = bench.volts("m", "0").unwrap().shown;
    let ohmwright::circuit::meter::Shown::Unsteady { lowest, highest } = shown else { panic!("{shown:?}") };
    // Through the pull-in winding alone 12 V · 0.04 ÷ 0.226, with the contact closed about 10.6 V.
    near(lowest.si(), 12.0 * 0.04 / 0.226, 0.02);
    near(highest.si(), 12.0 * 0.04 / 0.0453, 0.1);
}

#[test]
fn a_solenoid_draws_what_its_windings_draw() {
    // US Army TM 5-2420-230-24-2 p. 13-33: both windings and hold-in alone, at 10 V of 12 V types and 20 V of 24 V types.
    for (volts, both, alone) in [
        (10.0, 69.0, 13.0),
        (10.0, 74.0, 19.0),
        (10.0, 97.0, 18.0),
        (10.0, 86.0, 15.0),
        (20.0, 36.0, 6.0),
        (20.0, 57.0, 13.0),
        (20.0, 49.0, 6.0),
    ] {
        let (hold_in, pull_in) = (volts / alone, volts / (both - alone));
        let parts = |motor: &str| {
            format!(
                r#"
            {{ id = "source", kind = "battery", positive = "s", negative = "0", volts = "{volts} V", resistance = "1 uohm" }},
            {{ id = "solenoid", kind = "solenoid", control = "s", supply = "b", motor = "m", ground = "0", pull_in = "{pull_in} ohm", hold_in = "{hold_in} ohm", pulls_in = "8 V" }},
            {{ id = "bleeder", kind = "resistor", from = "b", to = "0", resistance = "1 Mohm" }},
            {{ id = "motor", kind = "resistor", from = "m", to = "0", resistance = "{motor}" }},"#
            )
        };
        let points = &["s", "b", "m", "0"];
        let draws = |motor: &str| with_faults(&circuit(points, &parts(motor), ""), &[]).amperes("source").unwrap();
        near(draws("1 uohm"), both, 0.01);
        near(draws("10 Mohm"), alone, 0.01);
    }
}
