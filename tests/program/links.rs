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
    place.call("show").and(&[&row]).go().ended(0).says("Tested again").says("Part worn");
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
fn the_customers_page_says_what_every_later_check_came_to_and_gives_no_orders() {
    let place = Place::with(BODY);
    place.at_vehicle(&["4.1", ""]).ended(0);
    let record = place.record();
    let page = || place.call("report --form customer --out -").and(&[&record]).go().ended(0).never_says("Do: ");
    page().says("Ask us which work we recommend").never_says("Checked again");
    place.answers("supply = \"5.0\"\n");
    let check = place.call("run p.rhai --answers answers.toml --after").and(&[&record]);
    check.clock("2026-11-24T11:00:00Z").go().ended(0);
    page().says("Checked again after the repair").says("Entered on 2026-11-24 11:00");
}

#[test]
fn a_record_that_is_not_there_is_said_without_moving_the_cursor() {
    let place = Place::new();
    place.call("show").and(&["no\u{1b}[35mne"]).go().ended(2).never_says("\u{1b}").says("there is no record");
}

/// A record in the shop's folder, one elsewhere, and a check of the named one that was begun by this path from this folder.
fn checked_by_path(first_in: &str, from: &str, typed: &str) -> (Place, String, String) {
    let place = Place::with(BODY);
    place.file("shop.toml", "name = \"Example Shop\"\n").file("bay/note.txt", "").file("bay/deep/note.txt", "");
    place.run_at_vehicle(&crate::place::SAFE).and(&["--records", first_in]).typing(&["4.1", ""]).go().ended(0);
    let first = std::fs::read_dir(place.path(first_in))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .find(|name| name != "sources" && !name.starts_with('.'))
        .unwrap();
    let before = place.records();
    place.answers("supply = \"4.1\"\n");
    let (procedure, answers) = (place.path("p.rhai"), place.path("answers.toml"));
    let typed = typed.replace("FIRST", &first).replace("HERE", place.path("").to_str().unwrap());
    let check = place.call("run").under(&format!("cd {from}"));
    let check = check.and(&[procedure.to_str().unwrap(), "--answers", answers.to_str().unwrap(), "--after", &typed]);
    check.clock("2026-11-24T10:00:00Z").go().ended(0);
    let check = newest(&place, &before.into_iter().chain([first.clone()]).collect::<Vec<_>>());
    (place, first, check)
}

#[test]
fn a_check_that_was_begun_by_a_path_is_found_and_finds_the_first_record_from_everywhere() {
    for (first_in, from, typed) in [
        ("records", ".", "records/FIRST"),
        ("records", ".", "./records/FIRST/"),
        ("records", ".", "HERE/records/FIRST"),
        ("records", "bay", "../records/FIRST"),
        ("records", "bay", "FIRST"),
        ("records", "records", "../records/FIRST/."),
        ("bay/archive", ".", "bay/archive/FIRST"),
        ("bay/archive", "bay", "archive/FIRST"),
        ("bay/archive", "bay/deep", "../archive/FIRST"),
    ] {
        let (place, first, check) = checked_by_path(first_in, from, typed);
        let whole = place.path(first_in).canonicalize().unwrap().join(&first);
        let link = place.events_of(&check)[0]["link"]["record"].clone();
        let lasting = if first_in == "records" { first.clone() } else { whole.to_str().unwrap().to_owned() };
        assert_eq!(link, lasting.as_str(), "{typed}");
        for folder in [".", "bay", "bay/deep", "records"] {
            let under = |call: &str| place.call(call).under(&format!("cd {folder}"));
            let seen = under("show").and(&[&check]).go().ended(0).never_says("the report goes without");
            seen.says("check after the record").says(&first);
            let report = under("report --format json").and(&[&check]).go().ended(0);
            report.never_says("the report goes without").says("\"state\": \"same\"");
            let seen = under("show").and(&[whole.to_str().unwrap()]).go().ended(0);
            seen.says(&format!("Checked again after the repair: {check}")).says("Part worn");
        }
    }
}

#[test]
fn the_first_record_is_found_when_the_shop_s_folder_has_moved() {
    let (place, first, check) = checked_by_path("records", "bay", "../records/FIRST");
    std::fs::create_dir(place.path("moved")).unwrap();
    for name in ["shop.toml", "records"] {
        std::fs::rename(place.path(name), place.path("moved").join(name)).unwrap();
    }
    let there = |call: &str| place.call(call).under("cd moved");
    there("show").and(&[&check]).go().ended(0).never_says("the report goes without").says(&first);
    there("show").and(&[&first]).go().ended(0).says(&format!("Checked again after the repair: {check}"));
}

#[test]
fn a_path_as_it_was_typed_into_an_older_record_is_still_read() {
    let (place, first, check) = checked_by_path("records", ".", "records/FIRST");
    let journal = std::fs::read_to_string(place.journal_of(&check)).unwrap();
    for typed in [format!("records/{first}"), format!("../records/{first}"), format!("elsewhere/{first}")] {
        let older = journal.replace(&format!("\"record\":\"{first}\""), &format!("\"record\":\"{typed}\""));
        assert_ne!(older, journal);
        std::fs::write(place.journal_of(&check), older).unwrap();
        for folder in [".", "bay", "records"] {
            let seen = place.call("report --format json").under(&format!("cd {folder}")).and(&[&check]).go().ended(0);
            seen.never_says("the report goes without").says("\"state\": \"same\"");
            let seen = place.call("show").under(&format!("cd {folder}")).and(&[&first]).go().ended(0);
            seen.says(&format!("Checked again after the repair: {check}"));
        }
    }
}

#[test]
fn what_was_begun_anew_by_a_path_names_its_record_for_good() {
    let place = Place::with(BODY);
    place.file("bay/note.txt", "").answers("");
    place.call("run p.rhai --answers answers.toml").go().ended(4);
    let begun = place.record();
    place.procedure(&BODY.replace("\"Supply\"", "\"Supply, now\""));
    let path = format!("records/{begun}");
    place.call("resume --new-run").and(&[&path]).typing(&["", "4.1", ""]).go().ended(0).says("Wire open");
    let finished = newest(&place, std::slice::from_ref(&begun));
    assert_eq!(place.events_of(&finished)[0]["link"]["record"], begun.as_str());
    let path = format!("../records/{finished}");
    place.call("show").under("cd bay").and(&[&path]).go().ended(0).never_says("the report goes without").says(&begun);
}
