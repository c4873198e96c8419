//! Runs on a simulated circuit: what the job says, and what answers where nobody does.

use crate::place::Place;

const JOB: &str =
    "[job]\nvehicle = \"Unit 77\"\nconcern = \"Flat on Mondays\"\nmeter = \"red\"\n[vehicle]\nwheels = \"free\"\n";

#[test]
fn the_option_has_an_older_word_that_help_does_not_show() {
    let readings = |option: &str| {
        let place = Place::new();
        let call = format!("run battery {option} --fault none --seed 3");
        place.call(&call).typing(&["pause"]).go().ended(4);
        place.events()[0]["simulated"].clone()
    };
    assert_eq!(readings("--bench"), readings("--simulate"));
    assert_eq!(readings("--bench battery"), readings("--simulate battery"));
    for command in ["run", "batch"] {
        let help = Place::new().call(&format!("{command} --help")).go().ended(0);
        help.says("--simulate").never_says("--bench");
    }
}

#[test]
fn the_job_file_of_a_run_on_the_bench_stands_in_its_record() {
    let place = Place::new();
    place.file("job.toml", JOB);
    let shown = place.call("run key_off_draw --bench own --seed 1 --job job.toml").typing(&["pause"]).go().ended(4);
    shown.says("the job's meter `red` is left out");
    let events = place.events();
    let job = &events[0]["job"];
    assert_eq!((&job["vehicle"], &job["concern"]), (&"Unit 77".into(), &"Flat on Mondays".into()));
    assert!(job["meter"].is_null(), "the bench has a meter of its own");
    assert_eq!(events[0]["vehicle"]["wheels"], "free");
    assert_eq!(events[0]["vehicle"]["battery"], "connected", "the circuit says what the file does not");
}

#[test]
fn a_meter_is_refused_where_a_simulated_circuit_answers() {
    let place = Place::new();
    place.call("run key_off_draw --bench own --meter red").go().ended(2).says("cannot be used with");
    assert_eq!(place.records(), Vec::<String>::new());
}

#[test]
fn what_an_answers_file_leaves_open_the_circuit_of_the_record_answers() {
    let place = Place::new();
    place.call("run key_off_draw --bench own --fault radio_draws").typing(&["pause"]).go().ended(4);
    place.file("answers.toml", "procedure = \"key_off_draw\"\n[answers]\nammeter = \"ammeter in line\"\n");
    let shown = place.call("resume --answers answers.toml").go().ended(0);
    shown.says("The branch of fuse F3 (radio) draws too much");
}

#[test]
fn the_healthy_circuit_stands_alone() {
    let place = Place::new();
    for faults in ["--fault none --fault radio_draws", "--fault radio_draws --fault none"] {
        for call in ["run key_off_draw --bench own", "circuit key_off_draw"] {
            let shown = place.call(&format!("{call} {faults}")).go().ended(2);
            shown.says("`none` is the healthy circuit: name no fault beside it");
        }
    }
    place.call("circuit key_off_draw --fault none").go().ended(0);
    place.file("t.csv", "vehicle,fault,ammeter\nA,none,ammeter in line\nB,none radio_draws,ammeter in line\n");
    let shown = place.call("batch key_off_draw t.csv --bench").go().without_panic().ended(1);
    shown.says("not_present").says("name no fault beside it").says("row 3, column fault");
}

#[test]
fn how_bad_a_fault_is_stands_in_the_record() {
    let severity = |call: &str| {
        let place = Place::new();
        place.call(&format!("run flap_sensor --bench own --seed 3 {call}")).typing(&["pause"]).go().ended(4);
        place.events()[0]["simulated"]["open"]["faults"][0].clone()
    };
    let given = severity("--fault connector_pin_corroded=180ohm");
    assert_eq!(given, serde_json::json!({ "id": "connector_pin_corroded", "severity": 180.0 }));
    let drawn = severity("--fault connector_pin_corroded");
    let ohms = drawn["severity"].as_f64().unwrap();
    assert!((25.0..=2000.0).contains(&ohms), "{drawn}");
    assert_eq!(severity("--fault fuse_open"), serde_json::json!({ "id": "fuse_open" }));
    let place = Place::new();
    let refused = place.call("circuit flap_sensor --fault connector_pin_corroded=3kohm").go().ended(2);
    refused.says("has a severity of 25 Ω to 2 kΩ, and `3kohm` is not in it");
    let refused = place.call("circuit flap_sensor --fault fuse_open=3ohm").go().ended(2);
    refused.says("has one severity only: leave `=3ohm` out");
}

#[test]
fn what_is_still_possible_is_said_when_it_is_asked_and_of_a_record() {
    let place = Place::new();
    let call = "run flap_sensor --simulate --fault reference_wire_open --seed 1";
    // Nobody is told unasked, and the reading that would tell most is not taken.
    let shown = place.call(call).typing(&["+", "+", "", "possible", "1", "pause"]).go();
    shown.says("Of the ").says("single faults considered").says("Still possible, ").says("You need not take it");
    let before = place.events().len();
    let shown = place.call("show 1 --evidence").go().ended(0);
    shown.says("SIMULATED").says("Excluded by reading 1, ").says("reference wire broken");
    assert_eq!(place.events().len(), before, "a look changes no record");
    place.call("run lamp_drop --simulate --fault none --seed 1").typing(&["pause"]).go();
    place.call("show 2 --evidence").go().ended(0).says("A vehicle without any of these faults could have given");
}
