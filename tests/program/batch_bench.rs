//! A table of simulated vehicles: a circuit answers, with the faults of each row in it.

use crate::place::{Place, Shown, of_kind};
use insta::assert_snapshot;

/// Three measured questions and one that has to be looked at.
const BODY: &str = "key_on();\nhold(\"lamp_switch\", \"on\");\n\
    let feed = read(\"feed\", \"Lamp feed\", at_least(9.V), across(\"lamp_feed\", \"battery_negative\"));\n\
    if feed.low { conclude(\"wire\"); }\n\
    let seen = ask(\"seen\", \"Does it light?\");\nif seen.no { conclude(\"part\"); }\nconclude(\"not_present\");\n";

fn with(table: &str) -> Place {
    let place = Place::with(BODY);
    place.file("units.csv", table);
    place
}

fn batch(place: &Place) -> Shown {
    place.call("batch p.rhai units.csv --bench lamp").go().without_panic()
}

#[test]
fn each_row_is_answered_by_its_own_faults_and_a_wrong_one_fails_alone() {
    let place = Place::new();
    place.file(
        "units.csv",
        "vehicle,fault,seed\nUnit 1,,\nUnit 2,fuse_open,7\nUnit 3,fuse_opn,\nUnit 4,lamp_burnt_out; battery_low,\n\
         Unit 5,feed_wire_open,minus one\nUnit 6,ground_stud_corroded,\n",
    );
    let shown = place.call("batch lamp_drop units.csv --bench").go().without_panic().ended(1);
    assert_snapshot!(shown, @r"
    exit 1
    --- stdout
    Pins, colors and limits are an example's, not this vehicle's. Use the figures in
      the vehicle manufacturer's documents.
    ┌─────┬─────────┬───────────┬──────────────────────────────────────────────────┐
    │ row ┆ vehicle ┆ outcome   ┆ cause, or what is wrong                          │
    ╞═════╪═════════╪═══════════╪══════════════════════════════════════════════════╡
    │   2 ┆ Unit 1  ┆ concluded ┆ not_present                                      │
    │   3 ┆ Unit 2  ┆ concluded ┆ fuse_open or lamp_shorted                        │
    │   4 ┆ Unit 3  ┆ failed    ┆ row 4, column fault: `fuse_opn`: the circuit has │
    │     ┆         ┆           ┆ no fault `fuse_opn`; did you mean `fuse_open`?   │
    │   5 ┆ Unit 4  ┆ concluded ┆ battery_low                                      │
    │   6 ┆ Unit 5  ┆ failed    ┆ row 6, column seed: `minus one` is not a whole   │
    │     ┆         ┆           ┆ number from 0 to 18446744073709551615; an empty  │
    │     ┆         ┆           ┆ cell is the row's number                         │
    │   7 ┆ Unit 6  ┆ concluded ┆ ground_resistance                                │
    └─────┴─────────┴───────────┴──────────────────────────────────────────────────┘
    ┌───────────────────────────┬──────┐
    │ cause                     ┆ rows │
    ╞═══════════════════════════╪══════╡
    │ battery_low               ┆    1 │
    │ failed                    ┆    2 │
    │ fuse_open or lamp_shorted ┆    1 │
    │ ground_resistance         ┆    1 │
    │ not_present               ┆    1 │
    └───────────────────────────┴──────┘
    6 rows: 0 waiting, 2 failed, 0 without a cause. A row that waits is answered
      with `ohmwright resume RECORD`, or mended in the table and run again.
    Summary: [folder]/records/units-lamp-drop-simulated-summary.csv
    ");
    assert!(
        place
            .read("records/units-lamp-drop-simulated-summary.csv")
            .contains("3,Unit 2,concluded,fuse_open or lamp_shorted,,units-lamp-drop-simulated-row-00003")
    );
    assert_eq!(place.records().len(), 4);
}

#[test]
fn the_record_says_which_circuit_answered_with_which_faults() {
    let place = with("vehicle,fault,seed,seen\nUnit 1,feed_wire_open;fuse_open fuse_open,12,\n,,,yes\n");
    batch(&place).ended(0);
    let started = place.events_of("units-p-simulated-row-00002")[0].clone();
    assert_eq!(started["answered_by"], "bench");
    let simulated = serde_json::json!({
        "circuit": "lamp",
        "open": { "faults": [{ "id": "feed_wire_open" }, { "id": "fuse_open" }], "seed": 12 }
    });
    assert_eq!(started["simulated"], simulated);
    assert_eq!(started["row"]["row"], 2);
    // Without a seed the row's number is taken, and the circuit's title stands for the vehicle.
    let started = place.events_of("units-p-simulated-row-00003")[0].clone();
    assert_eq!(started["simulated"]["open"]["seed"], 3);
    assert_eq!(started["job"]["vehicle"], "simulated: Work lamp with switch, relay, fuse and ground stud, 12 V");
    place.call("show units-p-simulated-row-00002").go().says("the simulated circuit lamp, not a vehicle");
}

#[test]
fn a_cell_stands_where_there_is_one_and_the_bench_says_the_rest() {
    let place =
        with("vehicle,fault,feed,seen\nUnit 1,,0.2,\nUnit 2,,,no\nUnit 3,,,yes\nUnit 4,feed_wire_open,12.4,yes\n");
    batch(&place).ended(0);
    let feed = |name: &str| of_kind(&place.events_of(name), "answered")[0]["typed"].clone();
    assert_eq!(feed("units-p-simulated-row-00002"), "0.2");
    let measured = feed("units-p-simulated-row-00003");
    assert!(measured.as_str().unwrap().starts_with("12."), "{measured}");
    assert_eq!(feed("units-p-simulated-row-00005"), "12.4");
    let summary = place.read("records/units-p-simulated-summary.csv");
    for row in [
        "2,Unit 1,concluded,wire,",
        "3,Unit 2,concluded,part,",
        "4,Unit 3,concluded,not_present,",
        "5,Unit 4,concluded,not_present,",
    ] {
        assert!(summary.contains(row), "{row}: {summary}");
    }
}

#[test]
fn what_a_circuit_cannot_be_asked_waits_for_a_cell() {
    let place = with("vehicle,seen\nUnit 1,\n");
    batch(&place).ended(4).says("row 2, column seen: empty");
    let place = with("vehicle\nUnit 1\n");
    batch(&place).ended(4).says("row 2: there is no column seen; add one, or answer");
    // Taken up again, the circuit still measures and the person looks.
    place.call("resume units-p-simulated-row-00002").typing(&["", "", "2", ""]).go().ended(0).says("Part worn");
    let place = with("vehicle\nUnit 1\n");
    place.procedure("let point = \"_point\";\nlet feed = read(\"feed\", \"Feed\", at_least(9.V), across(\"no_such\" + point, \"battery_negative\"));\nif feed.ok { conclude(\"part\"); }\nconclude(\"wire\");\n");
    batch(&place).ended(1).says("the circuit has no role or point `no_such_point`");
}

#[test]
fn running_again_skips_what_is_the_same_and_links_what_is_not() {
    let table = "vehicle,fault,seen\nUnit 1,fuse_open,no\nUnit 2,,no\n";
    let place = with(table);
    batch(&place).ended(0);
    let before = place.journals();
    batch(&place).ended(0).says("as before");
    assert_eq!(place.journals(), before);
    // Another fault is another row; the other row's record stays alone.
    place.file("units.csv", table.replace("fuse_open", "feed_wire_open"));
    batch(&place).ended(0);
    let new: Vec<_> = place.records().into_iter().filter(|name| !before.iter().any(|(old, _)| old == name)).collect();
    assert_eq!(new, ["units-p-simulated-row-00002-2"]);
    assert_eq!(place.events_of(&new[0])[0]["link"]["record"], "units-p-simulated-row-00002");
    // The same cells at a table without a circuit are no record of the circuit.
    place.file("units.csv", "vehicle,seen\nUnit 1,no\n");
    batch(&place);
    let benches = place.records().len();
    place.call("batch p.rhai units.csv").go().ended(4);
    assert_eq!(place.records().len(), benches + 1);
}

#[test]
fn two_places_make_the_same_readings_of_the_same_table() {
    let table = "vehicle,fault,seed,seen\nUnit 1,feed_wire_corroded,4,no\nUnit 2,feed_wire_corroded,,no\nUnit 3,feed_wire_corroded,,no\n";
    let (one, other) = (with(table), with(table));
    batch(&one);
    batch(&other);
    assert_eq!(one.journals(), other.journals());
    let feed =
        |row: u32| of_kind(&one.events_of(&format!("units-p-simulated-row-{row:05}")), "answered")[0]["typed"].clone();
    assert_ne!(feed(3), feed(4));
    assert_eq!(feed(2), feed(4));
}

#[test]
fn columns_of_a_bench_belong_to_a_bench() {
    let place = with("vehicle,fault,seen\nUnit 1,,no\n");
    place.call("batch p.rhai units.csv").go().ended(3).says("it belongs to a simulated circuit: --simulate CIRCUIT");
    let place = with("vehicle,meter,seen\nUnit 1,bench,no\n");
    batch(&place).ended(3).says("the column `meter` has no use on a simulated circuit");
    let place = with("vehicle,falt,seen\nUnit 1,,no\n");
    batch(&place).ended(3).says("did you mean `fault`?");
    place.call("batch p.rhai units.csv --bench").go().ended(2).says("`p` names no circuit");
    place
        .call("batch p.rhai units.csv --bench lmap")
        .go()
        .ended(2)
        .says("there is no circuit `lmap`; did you mean `lamp`?");
    assert_eq!(place.records(), Vec::<String>::new());
}

#[test]
fn a_record_of_a_simulated_row_is_judged_again_with_the_same_answers() {
    let place = with("vehicle,fault,feed,seen\nUnit 1,feed_wire_corroded,,no\nUnit 2,,0.37; 0.37,no\n");
    batch(&place).ended(0);
    place.call("verify --allow-unsigned units-p-simulated-row-00002 units-p-simulated-row-00003").go().ended(0);
}
