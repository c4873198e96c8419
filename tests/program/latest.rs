//! The latest record is the one at which a run of this station sat down last, whatever the times of files say.

use crate::place::{Call, Place};
use std::path::Path;
use std::process::Command;

const STATION: &str = "OHMWRIGHT_STATION";

fn copy(from: &Path, to: &Path) {
    assert!(Command::new("cp").arg("-r").args([from, to]).status().unwrap().success());
}

/// Two records of bay 1, and one of bay 2 that was copied here later and is newer by every time.
fn shared() -> (Place, String, String) {
    let place = Place::with("if ask(\"a\", \"Clean?\").yes { conclude(\"wire\"); }\nask(\"b\", \"Dry?\");");
    let run = |answers: &str, time: &str, station: &str| {
        let before = place.records();
        place.answers(answers);
        place.call("run p.rhai --answers answers.toml").clock(time).variable(STATION, station).go();
        place.records().into_iter().find(|record| !before.contains(record)).unwrap()
    };
    run("a = true", "2026-11-24T08:00:00Z", "Bay 1");
    let own = run("a = false", "2026-11-24T09:00:00Z", "Bay 1");
    let other = run("a = false", "2026-11-24T11:00:00Z", "Bay 2");
    let records = place.path("records");
    copy(&records.join(&other), &records.join("2026-11-25-copied"));
    copy(&records.join(&own), &records.join(format!("{own}-copied")));
    (place, own, other)
}

fn at_bay_1<'a>(place: &'a Place, arguments: &str) -> Call<'a> {
    place.call(arguments).variable(STATION, "Bay 1").clock("2026-11-26T09:00:00Z").width(200)
}

/// Every command that goes without a name means this record.
fn all_mean(place: &Place, record: &str, others: &[&str]) {
    for command in ["show", "verify --allow-unsigned", "report --format text", "pack --out packed.tar"] {
        let shown = at_bay_1(place, command).go().ended(0).says(record);
        for other in others {
            assert!(!shown.flat().contains(other), "{command} means {other}: {shown}");
        }
    }
    std::fs::remove_file(place.path("packed.tar")).unwrap();
    let key = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIAIDAQQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8g";
    place.file(
        "shop.toml",
        format!(
            "[[role]]\nname = \"lead\"\nmay_sign = [\"performed\"]\n[[person]]\nname = \"Ana Example\"\nrole = \"lead\"\nkey = \"{key}\"\n"
        ),
    );
    // Its key is nowhere, so that nothing is signed; but which record would be is said.
    let journal = place.journal_of(record);
    let good = std::fs::read(&journal).unwrap();
    std::fs::write(&journal, [&good[..], b"x\n"].concat()).unwrap();
    at_bay_1(place, "sign --as").and(&["Ana Example"]).go().ended(2).says(&format!("{record} does not verify"));
    std::fs::write(&journal, good).unwrap();
    std::fs::remove_file(place.path("shop.toml")).unwrap();
    at_bay_1(place, "resume").go().ended(4).says(record);
}

#[test]
fn without_a_name_the_record_of_this_station_is_meant() {
    let (place, own, other) = shared();
    all_mean(&place, &own, &[&other, "copied"]);
}

#[test]
fn without_a_pointer_the_times_of_the_last_lines_tell() {
    let (place, own, other) = shared();
    for entry in std::fs::read_dir(place.path("records")).unwrap() {
        let path = entry.unwrap().path();
        if path.file_name().unwrap().to_str().unwrap().starts_with(".latest-") {
            std::fs::remove_file(path).unwrap();
        }
    }
    all_mean(&place, &own, &[&other, "copied"]);
}

#[test]
fn a_pointer_to_a_record_that_is_gone_or_is_another_is_passed_over() {
    let (place, own, other) = shared();
    let records = place.path("records");
    std::fs::remove_dir_all(records.join(&own)).unwrap();
    std::fs::remove_dir_all(records.join(format!("{own}-copied"))).unwrap();
    let first = place
        .records()
        .into_iter()
        .find(|record| record.contains("0800"))
        .unwrap_or_else(|| place.records()[0].clone());
    at_bay_1(&place, "show").go().ended(0).says(&first);
    // Another record lies under the name that the pointer has.
    copy(&records.join(&other), &records.join(&own));
    at_bay_1(&place, "show").go().ended(0).says(&first);
    for odd in ["", "{}", "{\"record\":\"../records\"}", "{\"record\":\"\"}", "not json"] {
        for entry in std::fs::read_dir(&records).unwrap() {
            let path = entry.unwrap().path();
            if path.file_name().unwrap().to_str().unwrap().starts_with(".latest-") {
                std::fs::write(path, odd).unwrap();
            }
        }
        at_bay_1(&place, "show").go().ended(0).says(&first);
    }
}

#[test]
fn where_no_record_is_of_this_station_none_is_meant() {
    let (place, ..) = shared();
    let elsewhere = |command: &str| place.call(command).variable(STATION, "Bay 3").go().ended(2);
    for command in ["show", "verify", "report", "pack", "resume"] {
        elsewhere(command).says("was written at this station (Bay 3)").says("name the record that you mean");
    }
    place.call("list").variable(STATION, "Bay 3").go().ended(0).says("Runs to resume");
}

#[test]
fn going_on_with_an_older_record_makes_it_the_latest() {
    let place = Place::with("ask(\"a\", \"Clean?\");\nask(\"b\", \"Dry?\");\nask(\"c\", \"Old?\");");
    place.with_answers("a = true").ended(4);
    let first = place.record();
    place.answers("a = false").call("run p.rhai --answers answers.toml").clock("2026-11-24T10:00:00Z").go().ended(4);
    place.call("show").go().ended(0).never_says(&first);
    place.file("more.toml", "procedure = \"p\"\n[answers]\nb = true\n");
    place.call(&format!("resume {first} --answers more.toml")).clock("2026-11-24T11:00:00Z").go().ended(4);
    place.call("show").go().ended(0).says(&first);
    // The rows of a table are records of this station, too.
    place.file("t.csv", "vehicle,a\nUnit 1,yes\n");
    place.call("batch p.rhai t.csv").clock("2026-11-24T12:00:00Z").go();
    place.call("show").go().ended(0).says("Unit 1");
}
