//! Records by a part of their name, and what else lies among them.

use crate::place::Place;

fn of_units(units: &[&str]) -> Place {
    let place = Place::with("if ask(\"a\", \"Clean?\").yes { conclude(\"wire\"); }");
    let rows: Vec<String> = units.iter().map(|unit| format!("{unit},yes")).collect();
    for (number, row) in rows.iter().enumerate() {
        let unit = row.split(',').next().unwrap();
        place.file("job.toml", format!("[job]\nvehicle = \"{unit}\"\n"));
        place.answers("a = true");
        let time = format!("2026-11-24T09:{number:02}:00Z");
        place.call("run p.rhai --answers answers.toml --job job.toml").clock(&time).go().ended(0);
    }
    place
}

#[test]
fn a_whole_name_is_not_ambiguous_with_a_longer_one() {
    let place = of_units(&["unit 1", "unit 10", "unit 11"]);
    place.call("show unit-1").go().ended(0).says("unit 1");
    place.call("show unit-10").go().ended(0).says("unit 10");
    place.call("show unit").go().ended(2).says("3 records have `unit` in their names");
    place.call("verify unit-1 --allow-unsigned").go().ended(0).says("1 record:");
    let twice = of_units(&["unit 1", "unit 1", "unit 10"]);
    twice.call("show unit-1").go().ended(2).says("3 records have `unit-1` in their names");
}

#[test]
fn what_lies_beside_records_is_passed_over_where_everything_is_named() {
    let place = of_units(&["unit 1", "unit 2"]);
    place.file("t.csv", "vehicle,a\nunit 3,yes\n");
    place.call("batch p.rhai t.csv").go().ended(0);
    let mut all: Vec<String> = std::fs::read_dir(place.path("records"))
        .unwrap()
        .map(|entry| format!("records/{}", entry.unwrap().file_name().into_string().unwrap()))
        .collect();
    all.sort();
    for wanted in ["sources", "-summary.csv", ".lock", ".latest-"] {
        assert!(all.iter().any(|name| name.contains(wanted)), "{wanted} is not in {all:?}");
    }
    let names: Vec<&str> = all.iter().map(String::as_str).collect();
    place.call("verify --allow-unsigned").and(&names).go().ended(0).says("3 records: 0 good, 3 not signed, 0 bad");
    // Named alone, it is what somebody meant.
    place.call("verify records/sources").go().ended(2).says("there are no records in records/sources");
    let beside: Vec<&str> =
        names.iter().copied().filter(|name| !place.path(name).join("journal.jsonl").is_file()).collect();
    place.call("verify").and(&beside).go().ended(2).says("none of what was named is a record");
    // A folder of that name with records in it is one of records.
    let own = place.path("elsewhere/sources");
    std::fs::create_dir_all(own.parent().unwrap()).unwrap();
    std::fs::rename(place.path("records"), &own).unwrap();
    place.call("verify --allow-unsigned elsewhere/sources elsewhere/sources").go().ended(0).says("6 records");
}
