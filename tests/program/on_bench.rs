//! Runs on a simulated circuit: what the job says, and what answers where nobody does.

use crate::place::Place;

const JOB: &str =
    "[job]\nvehicle = \"Unit 77\"\nconcern = \"Flat on Mondays\"\nmeter = \"red\"\n[vehicle]\nwheels = \"free\"\n";

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
    place.file("answers.toml", "procedure = \"key_off_draw\"\n[answers]\n");
    let shown = place.call("resume --answers answers.toml").go().ended(0);
    shown.says("The branch of fuse F3 (radio) draws too much");
}

#[test]
fn the_healthy_circuit_stands_alone() {
    let place = Place::new();
    for faults in ["--fault none --fault radio_draws", "--fault radio_draws --fault none"] {
        for call in ["run key_off_draw --bench own", "circuit key_off_draw"] {
            let shown = place.call(&format!("{call} {faults}")).go().ended(2);
            shown.says("`none` is the healthy circuit, and stands alone");
        }
    }
    place.call("circuit key_off_draw --fault none").go().ended(0);
    place.file("t.csv", "vehicle,fault\nA,none\nB,none radio_draws\n");
    let shown = place.call("batch key_off_draw t.csv --bench").go().without_panic().ended(1);
    shown.says("not_present").says("stands alone").says("row 3, column fault");
}
