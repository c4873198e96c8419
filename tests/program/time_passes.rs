//! Waiting lets time pass on a simulated vehicle, and only waiting.

use crate::place::{LET_STAND, Place, typed};

const DRAW: &str = r#"title = "Key-off draw"
zero_volts = "battery.negative"
start = { key = "off" }
point = [{ id = "battery.positive", near = [] }, { id = "battery.negative", near = [] }, { id = "load", near = [] }]
part = [
  { id = "battery", kind = "battery", positive = "battery.positive", negative = "battery.negative", volts = "12 V", resistance = "1 mohm" },
  { id = "F1", kind = "fuse", from = "battery.positive", to = "load", rating = "10 A" },
  { id = "module", kind = "sleeping_load", from = "load", to = "battery.negative", awake = "6 ohm", asleep = "1.2 kohm", after = "20 min", awake_while = { key = "on" } },
  { id = "pump", kind = "intermittent_load", from = "load", to = "battery.negative", resistance = "12 ohm", on = "10 s", off = "50 s", closed_when = { key = "on" } },
]
fault = [{ id = "stays_awake", cause = "part", what = "the module stays awake", stuck = { part = "module", at = "awake" } }]
"#;

const READS: &str = r#"let early = read("early", "Draw", no_limits("A"), through("F1"));
wait(40.min);
let late = read("late", "Draw", at_most(50.mA), through("F1"));
key_on();
let pump = lowest_highest("pump", "Draw with the key on, for two minutes", no_limits("A"), through("F1"), moving("nothing"));
key_off();
if late.high { conclude("part"); }
conclude("not_present");
"#;

fn drawing() -> Place {
    let place = Place::with(&READS.replace(", moving(\"nothing\")", ", moving(\"time\")"));
    place.file("shop.toml", "name = \"Shop\"\n").file("circuits/draw.toml", DRAW);
    place
}

/// A number of amperes, as the meter shows it.
fn amperes(shown: &str) -> f64 {
    let (number, unit) = shown.split_once(' ').unwrap();
    number.parse::<f64>().unwrap() * if unit == "mA" { 1e-3 } else { 1.0 }
}

#[track_caller]
fn within_a_tenth(found: f64, expected: f64) {
    // The module's ohms are within 10 %, the meter's error beside.
    assert!((found / expected - 1.0).abs() < 0.13, "{found} {expected}");
}

fn readings(place: &Place) -> Vec<String> {
    ["early", "late"].map(|id| typed(&place.events(), id).concat()).to_vec()
}

#[test]
fn a_module_is_asleep_after_a_wait_also_where_the_run_was_paused_or_taken_back() {
    let run = "run p.rhai --bench draw --seed 7 --fault none";
    let straight = drawing();
    straight
        .call(run)
        .typing(&["+", "", "", "", "", "", ""])
        .typing(&LET_STAND)
        .go()
        .ended(0)
        .says("The fault did not show");
    let asleep = readings(&straight);
    within_a_tenth(amperes(&asleep[0]), 2.0);
    within_a_tenth(amperes(&asleep[1]), 0.01);
    let paused = drawing();
    paused.call(run).typing(&["+", "", "", "pause"]).go().ended(4);
    paused
        .call("resume")
        .typing(&["", "+", "", "", "", ""])
        .typing(&LET_STAND)
        .go()
        .ended(0)
        .says("The fault did not show");
    assert_eq!(readings(&paused), asleep);
    let awake = drawing();
    let stuck = run.replace("none", "stays_awake");
    awake.call(&stuck).typing(&["+", "", "", "", "", "", ""]).typing(&LET_STAND).go().ended(0).says("Part worn");
    assert_eq!(readings(&awake)[0], asleep[0]);
    within_a_tenth(amperes(&readings(&awake)[1]), 2.0);
}

#[test]
fn a_proof_waits_without_waiting_and_lowest_and_highest_see_what_comes_and_goes() {
    let place = drawing();
    place.call("prove p.rhai --circuit draw --samples 5").go().ended(0).says("5 vehicles × 1 fault");
    place
        .call("run p.rhai --bench draw --fault none")
        .typing(&["+", "", "", "", "", "", ""])
        .typing(&LET_STAND)
        .go()
        .ended(0);
    let events = place.events();
    let pump = events.iter().find(|event| event["id"] == "pump" && event["event"] == "answered").unwrap();
    // With the key on the module is awake: 2 A, and with the pump 3 A.
    within_a_tenth(amperes(pump["lowest"].as_str().unwrap()), 2.0);
    within_a_tenth(amperes(pump["highest"].as_str().unwrap()), 3.0);
    let by_hand = ["bench(\"draw\")", "amperes(\"F1\")", "wait(40.min)", "amperes(\"F1\")", "wait(1.V)"];
    let shown = place.call("repl").typing(&by_hand).go().without_panic();
    shown.says("1.994 A").says("9.99 mA").says("not a time to wait");
}
