//! More than one sweep in a step: each is judged on its own readings.

use crate::place::{Place, Shown, of_kind};

const BODY: &str = "step(\"Both tracks\");\n\
    let one = sweep(\"one\", \"Turn the shaft slowly\", ends(0.7.V, 4.0.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    let two = sweep(\"two\", \"And back again\", ends(0.7.V, 4.0.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    if two.skipped { conclude(\"wire\"); }\nif two.stuck { conclude(\"part\"); }\nconclude(\"not_present\");\n";

/// What was said under the last sweep.
fn verdicts(shown: &Shown) -> Vec<String> {
    let is_verdict = |line: &&str| line.starts_with("FOLLOWS") || line.starts_with("DOES NOT FOLLOW");
    shown.out.lines().map(str::trim).filter(is_verdict).map(str::to_owned).collect()
}

#[test]
fn the_second_sweep_of_a_step_is_judged_on_its_own_readings() {
    let place = Place::with(BODY);
    let shown = place.at_vehicle(&["0.7 2.0 3.0 4.0", "", "4.0 4.0 4.01", "", ""]).ended(0).says("Part worn");
    assert_eq!(verdicts(&shown), ["FOLLOWS  0.7 V … 4.0 V", "DOES NOT FOLLOW  4.0 V … 4.01 V"], "{shown}");
}

#[test]
fn a_sweep_that_was_left_out_leaves_no_readings_behind() {
    let place = Place::with(BODY);
    let shown = place.at_vehicle(&["0.7 2.0", "skip the shaft is stuck", "4.0 4.0 4.01", "", ""]).ended(0);
    assert_eq!(verdicts(&shown), ["DOES NOT FOLLOW  4.0 V … 4.01 V"], "{shown}");
}

#[test]
fn taken_up_in_the_middle_of_the_second_sweep_it_goes_on_with_its_own_readings() {
    let place = Place::with(BODY);
    place.at_vehicle(&["0.7 2.0 3.0 4.0", "", "4.0 4.0", "pause"]).ended(4);
    let shown = place.call("resume").typing(&["", "4.01", "", ""]).go().ended(0).says("Part worn");
    assert_eq!(verdicts(&shown), ["DOES NOT FOLLOW  4.0 V … 4.01 V"], "{shown}");
}

#[test]
fn what_is_odd_in_a_sweep_is_told_and_nothing_is_asked() {
    let place = Place::with(BODY);
    let lines = ["0.7 1.8", "18", "back", "2.9 40", "2.9 4.0", "", "-0.7 -2.0", "-0.7 -2.0", "-4.0", "", ""];
    let shown = place.at_vehicle(&lines).ended(0);
    let flat = shown.flat();
    assert!(flat.contains("18 V? Far beyond the ends. Expected about 1.8 V"), "{shown}");
    assert!(flat.contains("40 V? Far beyond the ends. Expected about 4 V"), "{shown}");
    assert_eq!(shown.count("Nothing of this line was taken: type it again as it should be, or once more as it is."), 2);
    assert_eq!(shown.count("Negative reading: red and black swapped?"), 3, "before a line and for each\n{shown}");
    assert_eq!(verdicts(&shown)[0], "FOLLOWS  0.7 V … 4.0 V", "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
    // A signal a little below zero or above its end is not odd, and neither is one that is short of it.
    let place = Place::with(BODY);
    place
        .at_vehicle(&["0.7 -0.02 4.6 5.0 2.0", "", "0.7 4.0", "", ""])
        .ended(0)
        .never_says("odd")
        .never_says("red and black swapped")
        .says("Two readings show the ends alone");
}

#[test]
fn a_dangerous_voltage_in_a_sweep_is_asked_about_and_ends_the_run() {
    for line in ["62", "0.7 2.0 62", "0.9 62"] {
        let place = Place::with(BODY);
        let shown = place.at_vehicle(&["0.7", line, line]).ended(5);
        shown.says("Nothing of this line was taken").says("Stop. Hands and leads off. Find out what this voltage is.");
        let events = place.events();
        assert_eq!(of_kind(&events, "ended")[0]["why"], "dangerous_voltage", "{line}");
        assert_eq!(of_kind(&events, "sweep_read").last().unwrap()["text"], "62", "what was read is kept");
        place.call("verify --allow-unsigned").go().ended(0);
    }
    // Below it, or typed as it should be, the sweep goes on.
    let place = Place::with(BODY);
    place.at_vehicle(&["0.7", "62", "2.0", "4.0", "", "4.0 4.0 4.01", "", ""]).ended(0).never_says("Hands and leads");
    // A file's answers have nobody who types it again.
    let place = Place::with(BODY);
    place.with_answers("one = \"0.7 2.0 62\"").ended(5).says("`one` shows a voltage that can kill");
}
