//! Records that name each other: a check after the repair is found from the record that it checks.

use crate::place::Place;

const BODY: &str = "let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\nif supply.low { conclude(\"wire\"); }\nconclude(\"not_present\");\n\
    fn after_repair() {\n    let again = read(\"supply\", \"Supply again\", between(4.75.V, 5.25.V));\n    if again.ok { conclude(\"not_present\"); }\n    conclude(\"part\");\n}\n";

/// The record that was made last, by what was there before.
fn newest(place: &Place, before: &[String]) -> String {
    place.records().into_iter().find(|name| !before.contains(name)).unwrap()
}

#[test]
fn a_check_of_a_row_is_found_whatever_day_the_table_is_named_after() {
    let place = Place::with(BODY);
    place.file("2026-12-31-fleet.csv", "vehicle,supply\nUnit 1,5.0\n");
    place.call("batch p.rhai 2026-12-31-fleet.csv").clock("2026-01-05T08:00:00Z").go().ended(0);
    let row = place.record();
    place.answers("supply = \"4.1\"\n");
    let check = place.call("run p.rhai --answers answers.toml --after").and(&[&row]);
    check.clock("2026-01-06T08:00:00Z").go().ended(0);
    place.call("show").and(&[&row]).go().ended(0).says("Checked again after the repair").says("Part worn");
}

#[test]
fn a_check_by_a_clock_that_is_a_little_behind_is_found() {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0);
    let record = place.record();
    place.answers("supply = \"4.1\"\n");
    let check = place.call("run p.rhai --answers answers.toml --after").and(&[&record]);
    check.clock("2026-11-23T23:50:00Z").go().ended(0);
    place.call("show").and(&[&record]).go().ended(0).says("Checked again after the repair").says("Part worn");
}

#[test]
fn a_check_that_was_finished_with_an_edited_procedure_is_the_record_that_it_was_finished_in() {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0);
    let record = place.record();
    place.answers("");
    place.call("run p.rhai --answers answers.toml --after").and(&[&record]).go().ended(4);
    let begun = newest(&place, std::slice::from_ref(&record));
    place.procedure(&BODY.replace("Supply again", "Supply once more"));
    place.call("resume --new-run").and(&[&begun]).typing(&["", "4.0", ""]).go().ended(0).says("Part worn");
    let finished = newest(&place, &[record.clone(), begun.clone()]);
    let shown = place.call("show").and(&[&record]).go().ended(0);
    shown.says(&format!("Checked again after the repair: {finished}")).says("Part worn");
    assert_eq!(place.call("show").and(&[&record]).go().count("Checked again"), 1);
}

#[test]
fn what_is_called_a_journal_and_is_no_file_does_not_hold_anything_up() {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0);
    let record = place.record();
    std::fs::create_dir_all(place.path("records/pipe")).unwrap();
    let made = std::process::Command::new("mkfifo").arg(place.path("records/pipe/journal.jsonl")).status().unwrap();
    assert!(made.success());
    place.call("show").and(&[&record]).go().ended(0).says("Wire open");
    place.call("report --format text").and(&[&record]).go().ended(0).says("Wire open");
}

#[test]
fn a_record_that_was_changed_since_its_check_says_who_knows_where() {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0);
    let record = place.record();
    place.answers("supply = \"4.1\"\n");
    place.call("run p.rhai --answers answers.toml --after").and(&[&record]).go().ended(0);
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    std::fs::write(place.journal_of(&record), journal.replace("Unit 12", "Unit 13")).unwrap();
    let shown = place.call("show").and(&[&record]).go().ended(0).says("THIS RECORD WAS CHANGED");
    shown.says(&format!("`ohmwright verify {record}` says where, as far as it is signed."));
}

#[test]
fn the_customers_page_says_what_was_to_be_done_once_a_check_found_the_trouble_gone() {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0);
    let record = place.record();
    let page = |heading: &str, other: &str| {
        let shown = place.call("report --form customer --out -").and(&[&record]).go().ended(0);
        shown.says(heading).never_says(other);
    };
    page("What should be done", "What was to be done");
    for (reading, heading, other) in
        [("4.1", "What should be done", "What was to be done"), ("5.0", "What was to be done", "What should be done")]
    {
        place.answers(&format!("supply = \"{reading}\"\n"));
        let check = place.call("run p.rhai --answers answers.toml --after").and(&[&record]);
        check.clock(if reading == "4.1" { "2026-11-24T10:00:00Z" } else { "2026-11-24T11:00:00Z" }).go().ended(0);
        page(heading, other);
    }
}

#[test]
fn a_record_that_is_not_there_is_said_without_moving_the_cursor() {
    let place = Place::new();
    place.call("show").and(&["no\u{1b}[35mne"]).go().ended(2).never_says("\u{1b}").says("there is no record");
}
