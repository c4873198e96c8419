//! What time does to a vehicle: worked out by hand.
use crate::parts::{near, text};
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::sample::Sample;
use ohmwright::model::vehicle::{Engine, Key};
use std::sync::Arc;

const DOOR: &str =
    r#"movement = [{ id = "door", what = "the driver's door", choices = ["shut", "open"], start = "shut" }]"#;

fn vehicle(parts: &str, faults: &str, there: &[&str], sample: Sample) -> Bench {
    let text = text(&["plus", "0"], DOOR, parts, faults).replace("key = \"on\", engine = \"running\"", "key = \"off\"");
    let circuit = file::parse(&text, "time").unwrap_or_else(|error| panic!("{error}"));
    let there: Vec<FaultId> = there.iter().map(|fault| FaultId::from(*fault)).collect();
    Bench::new(Arc::new(circuit), &there, sample, bench_meter()).unwrap()
}

fn at_rest(parts: &str) -> Bench {
    vehicle(parts, "", &[], Sample::NOMINAL)
}

fn amperes(bench: &mut Bench, part: &str) -> f64 {
    bench.solution().unwrap().amperes(part).unwrap()
}

const BATTERY: &str = r#"{ id = "battery", kind = "battery", positive = "plus", negative = "0", volts = "12 V", resistance = "1 uohm" },"#;
const PUMP: &str = r#"{ id = "pump", kind = "intermittent_load", from = "plus", to = "0", resistance = "6 ohm", on = "10 s", off = "50 s" },"#;

#[test]
fn a_load_comes_and_goes_as_time_passes_and_not_between_two_readings() {
    let parts = format!("{BATTERY}{PUMP}");
    let mut bench = at_rest(&parts);
    for (waited, expected) in
        [(0.0, 2.0), (0.0, 2.0), (9.0, 2.0), (1.0, 0.0), (49.0, 0.0), (1.0, 2.0), (600.0, 2.0), (10.0, 0.0)]
    {
        bench.wait(waited).unwrap();
        near(amperes(&mut bench, "pump"), expected, 1e-6);
    }
    let both = bench.at_all_moments(|bench| bench.solution()?.amperes("pump")).unwrap();
    near(both[0], 2.0, 1e-6);
    near(both[1], 0.0, 1e-6);
    near(amperes(&mut bench, "pump"), 0.0, 1e-6);
    // Each vehicle begins at another moment of it: about a sixth of them while it is there.
    let there = (0..300).filter(|seed| amperes(&mut vehicle(&parts, "", &[], Sample::of_seed(*seed)), "pump") > 1.0);
    let there = there.count();
    assert!((30..70).contains(&there), "{there} of 300");
}

#[test]
fn a_load_that_is_stuck_does_not_come_and_go() {
    let faults = r#"{ id = "welded", cause = "x", stuck = { part = "pump", at = "closed" } }, { id = "dead", cause = "x", stuck = { part = "pump", at = "open" } },"#;
    let parts = format!("{BATTERY}{PUMP}");
    for (fault, expected) in [("welded", 2.0), ("dead", 0.0)] {
        let mut bench = vehicle(&parts, faults, &[fault], Sample::NOMINAL);
        for _ in 0..7 {
            near(amperes(&mut bench, "pump"), expected, 1e-6);
            bench.wait(9.0).unwrap();
        }
    }
}

const MODULE: &str = r#"{ id = "module", kind = "sleeping_load", from = "plus", to = "0", awake = "6 ohm", asleep = "1.2 kohm", after = "20 min", awake_while = [{ key = "on" }, { door = "open" }] },"#;

#[test]
fn a_module_falls_asleep_some_minutes_after_the_key_and_the_last_door() {
    let faults = r#"{ id = "awake", cause = "x", stuck = { part = "module", at = "awake" } }, { id = "draws", cause = "x", set = { part = "module", value = "24 ohm" } },"#;
    let parts = format!("{BATTERY}{MODULE}");
    let mut bench = vehicle(&parts, faults, &[], Sample::NOMINAL);
    let minutes = |bench: &mut Bench, minutes: f64| {
        bench.wait(minutes * 60.0).unwrap();
        amperes(bench, "module")
    };
    let door = |bench: &mut Bench, position: &str| {
        let mut state = bench.state().clone();
        state.positions.insert("door".to_owned(), position.to_owned());
        bench.set_state(&state).unwrap();
        amperes(bench, "module")
    };
    let (awake, asleep) = (2.0, 0.01);
    near(minutes(&mut bench, 0.0), awake, 1e-6);
    near(minutes(&mut bench, 19.0), awake, 1e-6);
    near(minutes(&mut bench, 1.0), asleep, 1e-6);
    // A door wakes it, and while it is open it stays awake.
    near(door(&mut bench, "open"), awake, 1e-6);
    near(minutes(&mut bench, 300.0), awake, 1e-6);
    near(door(&mut bench, "shut"), awake, 1e-6);
    near(minutes(&mut bench, 12.0), awake, 1e-6);
    // So does the key, and the minutes count anew.
    let state = bench.state().clone();
    for key in [Key::On, Key::Off] {
        bench.set_state(&ohmwright::model::vehicle::VehicleState { key, ..state.clone() }).unwrap();
    }
    near(minutes(&mut bench, 12.0), awake, 1e-6);
    near(minutes(&mut bench, 8.0), asleep, 1e-6);
    // What was remembered there is found again; another vehicle begins awake.
    let memory = bench.memory().clone();
    door(&mut bench, "open");
    let shut = state.clone();
    bench.set_state(&shut).unwrap();
    near(amperes(&mut bench, "module"), awake, 1e-6);
    bench.remember(memory).unwrap();
    near(amperes(&mut bench, "module"), asleep, 1e-6);
    bench.begin(&shut).unwrap();
    near(amperes(&mut bench, "module"), awake, 1e-6);
    for (fault, expected) in [("awake", 2.0), ("draws", 0.5)] {
        let mut bench = vehicle(&parts, faults, &[fault], Sample::NOMINAL);
        near(minutes(&mut bench, 60.0), expected, 1e-6);
    }
}

#[test]
fn a_battery_runs_down_by_what_is_drawn_and_never_comes_up_by_waiting() {
    let load = r#"{ id = "lights", kind = "load", from = "plus", to = "0", resistance = "1.75 ohm", closed_when = { key = "on" } },"#;
    let battery = |keys: &str| {
        format!(
            r#"{{ id = "battery", kind = "battery", positive = "plus", negative = "0", charge = "100 %", resistance = "1 uohm"{keys} }},{load}"#
        )
    };
    let turned = |bench: &mut Bench, key: Key, minutes: f64| {
        let state = ohmwright::model::vehicle::VehicleState { key, ..bench.state().clone() };
        bench.set_state(&state).unwrap();
        bench.wait(minutes * 60.0).unwrap();
        bench.true_volts("plus", "0").unwrap().si()
    };
    let mut bench = at_rest(&battery(", capacity = \"70 Ah\""));
    near(turned(&mut bench, Key::Off, 0.0), 12.6, 1e-4);
    // About 7.19 A for an hour are 7.19 of 70 Ah: 89.7 % are left, of which 12.518 V.
    let loaded = turned(&mut bench, Key::On, 60.0);
    near(loaded, 12.6 - (12.56 / 1.75) / 70.0 * 0.8, 1e-3);
    near(turned(&mut bench, Key::Off, 0.0), loaded, 1e-4);
    near(turned(&mut bench, Key::Off, 600.0), loaded, 1e-4);
    // Ten hours more and it is empty; it does not go below that.
    near(turned(&mut bench, Key::On, 720.0), 11.7, 1e-3);
    // Without a capacity nothing runs down.
    let mut endless = at_rest(&battery(""));
    near(turned(&mut endless, Key::On, 720.0), 12.6, 1e-3);
    // Surface voltage: above rest after the drive, below it after a load, at rest after a while, each time.
    let mut bench = at_rest(&battery(", capacity = \"70 Ah\", surface = \"0.3 V\""));
    near(turned(&mut bench, Key::Off, 0.0), 12.9, 1e-4);
    near(turned(&mut bench, Key::Off, 3.0), 12.6 + 0.3 * (-1f64).exp(), 1e-3);
    let taken_off = turned(&mut bench, Key::On, 2.0);
    near(taken_off, 12.6 - 0.3, 5e-3);
    let rested = turned(&mut bench, Key::Off, 30.0);
    assert!(rested > taken_off && rested < 12.6, "{taken_off} {rested}");
    near(rested, 12.6 - 7.2 / 30.0 / 70.0 * 0.8, 1e-3);
    let running = ohmwright::model::vehicle::VehicleState { engine: Engine::Running, ..bench.state().clone() };
    let stopped = bench.state().clone();
    bench.set_state(&running).unwrap();
    bench.set_state(&stopped).unwrap();
    near(bench.true_volts("plus", "0").unwrap().si(), rested + 0.3, 1e-3);
    let wrong = battery(", capacity = \"70 Ah\"").replace("charge = \"100 %\"", "volts = \"12.6 V\"");
    let error = file::parse(&text(&["plus", "0"], DOOR, &wrong, ""), "time").unwrap_err().to_string();
    assert!(error.contains("`capacity` is not a key without `charge`"), "{error}");
}
