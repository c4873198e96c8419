//! What helpers refuse only since a version: a record of an older version is judged as it was.

use crate::place::Place;

/// Says in a step whether the helper answered: what a script makes of a refusal is in the record.
const BODY: &str = r#"
let code = "no code";
try { fault_code(0, 0, 0, 0); code = "a code"; } catch { }
step("The module has " + code);
read("volts", "Reference", between(4.75.V, 5.25.V));
let place = "none";
try { place = "" + sensor_position(0.V, 5.V, 80.pct, 100.pct); } catch { }
step("Position: " + place);
conclude("wire");
"#;

/// What `verify` says of a record that comes out the same.
const SAME: &str = "same 1 verdict,";

/// The record as a program of this behavior wrote it.
fn as_of(place: &Place, behavior: u32, journal: &str) {
    let journal = journal.replace("\"behavior\":4,", &format!("\"behavior\":{behavior},"));
    std::fs::write(place.journal_of(&place.record()), journal).unwrap();
}

/// As the helpers answered before behavior 3.
fn answered(journal: &str) -> String {
    journal.replace("The module has no code", "The module has a code").replace("Position: none", "Position: -400 %")
}

#[test]
fn a_record_is_judged_by_what_the_helpers_of_its_own_version_refused() {
    let place = Place::with(BODY);
    place.with_answers("volts = \"5.0\"").ended(0);
    let record = place.record();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    assert!(journal.contains("The module has no code") && journal.contains("Position: none"), "{journal}");
    let verify = || place.call("verify").and(&[&record]).go();
    verify().says(SAME);
    as_of(&place, 3, &answered(&journal));
    verify().ended(1).says("The module has a code").says("The module has no code");
    as_of(&place, 2, &journal);
    verify().ended(1).says("The module has a code").says("The module has no code");
    as_of(&place, 2, &answered(&journal));
    verify().says(SAME);
}

#[test]
fn a_record_that_an_older_version_began_goes_on_with_its_own_answers_and_is_asked_anew_as_now() {
    let place = Place::with(BODY);
    place.at_vehicle(&["", "pause"]).ended(4);
    let record = place.record();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    as_of(&place, 2, &answered(&journal));
    place.call("resume").typing(&["", "5.0", ""]).go().ended(0);
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    assert!(journal.contains("The module has a code") && journal.contains("Position: none"), "{journal}");
    place.call("verify").and(&[&record]).go().says(SAME);
}
