//! The check after the repair, side by side with what led to it.

use crate::place::{Place, of_kind};

const BODY: &str = "let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\nif supply.low { conclude(\"wire\"); }\nconclude(\"not_present\");\n\
    fn after_repair() {\n    step(\"After the repair\");\n    let again = read(\"supply\", \"Supply again\", between(4.75.V, 5.25.V));\n    if again.ok { conclude(\"not_present\"); }\n    conclude(\"wire\");\n}\n";

fn repaired() -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0).says("Wire open");
    let record = place.record();
    (place, record)
}

#[test]
fn only_the_check_is_run_and_its_record_points_at_the_first() {
    let (place, record) = repaired();
    let first = std::fs::read(place.journal_of(&record)).unwrap();
    place
        .call("run p.rhai --after")
        .and(&[&record])
        .typing(&["", "", "1", "1", "600", "1", "1", "1", "1", "5.01", ""])
        .go()
        .ended(0)
        .never_says("vehicle or unit");
    let new = place.records().into_iter().find(|name| *name != record).unwrap();
    let events = place.events_of(&new);
    assert_eq!(events[0]["entry_point"], "after_repair");
    assert_eq!(events[0]["job"]["vehicle"], "Unit 12", "the job is the first one's");
    let link = &events[0]["link"];
    assert_eq!((&link["kind"], &link["record"]), (&"after_repair".into(), &record.as_str().into()));
    assert_eq!(link["sha256"].as_str().unwrap().len(), 64);
    assert_eq!(of_kind(&events, "answered").len(), 1);
    assert_eq!(std::fs::read(place.journal_of(&record)).unwrap(), first, "the first record is as it was");
    place.call("show").and(&[&new]).go().ended(0).says("check after the record").says(&record);
}

#[test]
fn it_is_put_down_and_taken_up_like_any_run() {
    let (place, record) = repaired();
    place.answers("");
    place
        .call("run p.rhai --answers answers.toml --after")
        .and(&[&record])
        .go()
        .ended(4)
        .says("Waits for `supply` (Supply again)");
    let new = place.records().into_iter().find(|name| *name != record).unwrap();
    place.call("resume").and(&[&new]).typing(&["", "4.0", ""]).go().ended(0).says("Wire open");
}

#[test]
fn what_can_not_be_checked_is_refused() {
    let (place, record) = repaired();
    place.file("q.rhai", "//! title = \"Other\"\n//! revision = 1\nfn after_repair() { }\n");
    place.call("run q.rhai --after").and(&[&record]).go().ended(2).says("is a record of `p`, not of `q`");
    place.procedure("conclude(\"wire\");\n");
    place.call("run p.rhai --after").and(&[&record]).go().ended(2).says("`p` has no check for after the repair");
    place.procedure(BODY);
    place.call("run p.rhai --after nowhere").go().ended(2).says("there is no record `nowhere`");
    assert_eq!(place.records(), [record]);
}

#[test]
fn a_check_that_ends_without_a_cause_says_so() {
    let (place, record) = repaired();
    place.procedure(&BODY.replace("    conclude(\"wire\");\n}", "}"));
    place.answers("supply = \"4.0\"\n");
    place.call("run p.rhai --answers answers.toml --after").and(&[&record]).go().ended(5).says("Unconcluded");
}
