//! Each record has a short number, which is typed in place of its name; what was found stands first.

use crate::place::Place;

const BODY: &str = "if ask(\"a\", \"Clean?\").yes { conclude(\"wire\"); }\nask(\"b\", \"Dry?\");";

fn two_records() -> (Place, Vec<String>) {
    let place = Place::with(BODY);
    for time in ["2026-11-24T08:00:00Z", "2026-11-24T09:00:00Z"] {
        place.answers("a = true");
        place.call("run p.rhai --answers answers.toml").clock(time).go().ended(0);
    }
    let records = place.records();
    assert_eq!(records.len(), 2);
    (place, records)
}

#[test]
fn a_bare_number_is_the_records_number_wherever_a_record_is_named() {
    let (place, records) = two_records();
    for (number, record) in [("1", &records[0]), ("2", &records[1])] {
        for command in ["show", "verify --allow-unsigned", "report --format json", "pack --out packed.tar"] {
            let shown = place.call(&format!("{command} {number}")).width(200).go().ended(0).says(record);
            assert!(command.starts_with("pack") || !shown.flat().contains("no record"), "{shown}");
            let _ = std::fs::remove_file(place.path("packed.tar"));
        }
        place.call(&format!("show {number}")).go().says(&format!("{number} {record}"));
        place.call(&format!("resume {number}")).go().ended(2).says(record);
    }
    // Both names have 24 in them; it is no part of a name.
    place.call("show 24").go().ended(2).says("no record has the number 24");
    // It is given for good.
    std::fs::remove_dir_all(place.path("records").join(&records[1])).unwrap();
    place.call("show 2").go().ended(2).says("no record has the number 2");
    place.answers("a = false");
    place.call("run p.rhai --answers answers.toml").clock("2026-11-24T10:00:00Z").go().ended(4).says("Record 3: ");
}

#[test]
fn a_record_of_an_older_program_gets_its_number_when_it_is_listed() {
    let place = Place::with(BODY);
    place.with_answers("a = false").ended(4);
    std::fs::remove_file(place.path("records/.numbers")).unwrap();
    let record = place.record();
    place.call(&format!("show {record}")).go().ended(0).never_says(&format!("1 {record}"));
    place.call("list").width(200).go().ended(0).says(&format!("1 {record}: "));
    place.call("show 1").go().ended(0).says(&record);
}

#[test]
fn what_was_found_stands_in_the_first_lines_and_at_the_end_of_a_run() {
    let place = Place::with(BODY);
    let shown = place.to_the_end(&["1"]).ended(0);
    shown.says("Found: Wire open. Do: Repair the wire.").says("Record 1: ").says("Next: ohmwright report 1");
    let shown = place.call("show").go().ended(0);
    assert!(shown.out.starts_with("Found: Wire open. Do: Repair the wire.\n"), "{shown}");
}

#[test]
fn a_simulated_record_says_so_in_its_name_its_data_and_its_last_line() {
    let place = Place::new();
    place.file("units.csv", "vehicle,fault\nUnit 2,fuse_open\n");
    place.call("batch lamp_drop units.csv --bench").go().ended(0);
    place.call("show 1").go().ended(0).says("SIMULATED.").says("Pins, colors and limits are an example's");
    let data = place.call("report 1 --format csv").go().ended(0).out;
    let mut lines = data.lines();
    assert!(lines.next().unwrap().ends_with(",reason,simulated"), "{data}");
    assert!(lines.all(|line| line.ends_with(",SIMULATED")), "{data}");
    place.call("report 1 --format json").go().ended(0).says("\"simulated\": true");
    // With a job, too.
    place.file("job.toml", "[job]\nvehicle = \"Unit 7\"\nnominal = \"12 V\"\n");
    let shown = place.call("run lamp_drop --bench --fault fuse_open --job job.toml").typing(&["pause"]).go();
    let record = place.records().into_iter().find(|record| record.contains("lamp-drop-simulated")).unwrap();
    assert!(record.ends_with("-simulated-unit-7"), "{record}\n{shown}");
    shown.says("SIMULATED: a circuit answers").says(&record).says("Paused (SIMULATED). Continue with:");
}

#[test]
fn the_customers_page_shows_the_readings_that_decided() {
    let place = Place::new();
    place.file("units.csv", "vehicle,fault,ammeter\nUnit 2,glove_box_lamp_stays_on,ammeter in line\n");
    place.call("batch key_off_draw units.csv --bench").go().without_panic();
    let page = place.call("report 1 --form customer --out -").go().ended(0).out;
    assert!(page.contains("Draw with fuse F2 out"), "{page}");
    for words in ["Look at every lamp", "from memory", "not finished"] {
        assert!(!page.contains(words), "{words} in {page}");
    }
    for words in ["Do not take them for the vehicle manufacturer's", "licensed practice come before this report"] {
        assert_eq!(page.matches(words).count(), 1, "{words} in {page}");
    }
}
