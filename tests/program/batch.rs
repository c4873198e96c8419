//! A table of vehicles: one row, one record.

use crate::place::{Place, Shown, of_kind, typed};
use insta::assert_snapshot;

const BODY: &str = "let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\nif supply.skipped { conclude(\"not_present\"); }\n\
    if supply.low { conclude(\"wire\"); }\nlet seen = ask(\"seen\", \"Corroded?\");\nif seen.yes { conclude(\"part\"); }\nif supply.high { return; }\nconclude(\"not_present\");\n";

/// A table of 44 vehicles with realistic trouble in it.
fn table() -> String {
    let mut rows = vec!["vehicle,technician,key,engine,ran,lift,wheels,battery,high_voltage,supply,seen".to_owned()];
    for number in 1..=44 {
        let (supply, seen) = match number {
            5 => ("", "no"),              // empty cell
            9 => ("4.9o8", "no"),         // the letter o for a zero
            12 => ("\"4,998\"", "no"),    // decimal comma or thousands
            15 => ("0.498", "no"),        // decimal point slipped, not confirmed
            16 => ("0.498; 0.498", "no"), // and confirmed
            20 => ("5.00", "perhaps"),    // neither yes nor no
            23 => ("5.00", ""),           // asked for, and empty
            24 => ("0.2", ""),            // not asked for, and empty
            27 => ("skip no room", ""),   // left out with a reason
            28 => ("skip", ""),           // left out without one
            30 => ("OL", "no"),
            33 => ("12 A", "no"),
            37 => ("5.6", "no"), // ends without a cause
            n if n % 4 == 0 => ("4.10", "no"),
            n if n % 3 == 0 => ("5.01", "yes"),
            _ => ("5.00", "no"),
        };
        rows.push(format!("Unit {number:03},A. Tester,off,stopped,600,down,chocked,connected,absent,{supply},{seen}"));
    }
    rows.push("Unit 045,A. Tester,of,stopped,600,down,chocked,connected,absent,5.00,no".to_owned());
    rows.push("Unit 046,A. Tester,off,stopped".to_owned());
    rows.join("\n") + "\n"
}

fn place() -> Place {
    let place = Place::with(BODY);
    place.file("fleet.csv", table());
    place
}

fn batch(place: &Place) -> Shown {
    place.call("batch p.rhai fleet.csv").go().without_panic()
}

#[test]
fn every_row_is_reported_with_what_is_wrong_and_stops_no_other() {
    let place = place();
    let shown = batch(&place).ended(1);
    assert_snapshot!(shown, @"
    exit 1
    --- stdout
    ┌─────┬──────────┬───────────┬─────────────────────────────────────────────────┐
    │ row ┆ vehicle  ┆ outcome   ┆ cause, or what is wrong                         │
    ╞═════╪══════════╪═══════════╪═════════════════════════════════════════════════╡
    │   2 ┆ Unit 001 ┆ concluded ┆ not_present                                     │
    │   3 ┆ Unit 002 ┆ concluded ┆ not_present                                     │
    │   4 ┆ Unit 003 ┆ concluded ┆ part                                            │
    │   5 ┆ Unit 004 ┆ concluded ┆ wire                                            │
    │   6 ┆ Unit 005 ┆ waits     ┆ row 6, column supply: empty                     │
    │   7 ┆ Unit 006 ┆ concluded ┆ part                                            │
    │   8 ┆ Unit 007 ┆ concluded ┆ not_present                                     │
    │   9 ┆ Unit 008 ┆ concluded ┆ wire                                            │
    │  10 ┆ Unit 009 ┆ waits     ┆ row 10, column supply: `4.9o8`: `o8` is not a   │
    │     ┆          ┆           ┆ unit that a meter shows: type the number alone  │
    │     ┆          ┆           ┆ for V, or the number and its unit               │
    │  11 ┆ Unit 010 ┆ concluded ┆ not_present                                     │
    │  12 ┆ Unit 011 ┆ concluded ┆ not_present                                     │
    │  13 ┆ Unit 012 ┆ waits     ┆ row 13, column supply: `4,998`: `4,998` can be  │
    │     ┆          ┆           ┆ read as 4.998 or as 4998: type it with a point, │
    │     ┆          ┆           ┆ or without the comma                            │
    │  14 ┆ Unit 013 ┆ concluded ┆ not_present                                     │
    │  15 ┆ Unit 014 ┆ concluded ┆ not_present                                     │
    │  16 ┆ Unit 015 ┆ waits     ┆ row 16, column supply: `0.498`: Expected about  │
    │     ┆          ┆           ┆ 4.98 V. Decimal slip, or wrong range?           │
    │  17 ┆ Unit 016 ┆ concluded ┆ wire                                            │
    │  18 ┆ Unit 017 ┆ concluded ┆ not_present                                     │
    │  19 ┆ Unit 018 ┆ concluded ┆ part                                            │
    │  20 ┆ Unit 019 ┆ concluded ┆ not_present                                     │
    │  21 ┆ Unit 020 ┆ waits     ┆ row 21, column seen: `perhaps`: `perhaps` is    │
    │     ┆          ┆           ┆ neither yes nor no: type 1 for yes or 2 for no  │
    │  22 ┆ Unit 021 ┆ concluded ┆ part                                            │
    │  23 ┆ Unit 022 ┆ concluded ┆ not_present                                     │
    │  24 ┆ Unit 023 ┆ waits     ┆ row 24, column seen: empty                      │
    │  25 ┆ Unit 024 ┆ concluded ┆ wire                                            │
    │  26 ┆ Unit 025 ┆ concluded ┆ not_present                                     │
    │  27 ┆ Unit 026 ┆ concluded ┆ not_present                                     │
    │  28 ┆ Unit 027 ┆ concluded ┆ not_present                                     │
    │  29 ┆ Unit 028 ┆ waits     ┆ row 29, column supply: `skip`: `skip` is not a  │
    │     ┆          ┆           ┆ reading: type the number that the meter shows,  │
    │     ┆          ┆           ┆ such as 4.998 V                                 │
    │  30 ┆ Unit 029 ┆ concluded ┆ not_present                                     │
    │  31 ┆ Unit 030 ┆ ended     ┆ Unfinished: `supply` shows OL, which says       │
    │     ┆          ┆           ┆ nothing of the circuit: look at the meter's     │
    │     ┆          ┆           ┆ dial, range and leads                           │
    │  32 ┆ Unit 031 ┆ concluded ┆ not_present                                     │
    │  33 ┆ Unit 032 ┆ concluded ┆ wire                                            │
    │  34 ┆ Unit 033 ┆ waits     ┆ row 34, column supply: `12 A`: `12 A` is        │
    │     ┆          ┆           ┆ amperes, but volts were asked for: is the meter │
    │     ┆          ┆           ┆ on the wrong function?                          │
    │  35 ┆ Unit 034 ┆ concluded ┆ not_present                                     │
    │  36 ┆ Unit 035 ┆ concluded ┆ not_present                                     │
    │  37 ┆ Unit 036 ┆ concluded ┆ wire                                            │
    │  38 ┆ Unit 037 ┆ ended     ┆ Unconcluded: the procedure came to its end      │
    │     ┆          ┆           ┆ without a cause                                 │
    │  39 ┆ Unit 038 ┆ concluded ┆ not_present                                     │
    │  40 ┆ Unit 039 ┆ concluded ┆ part                                            │
    │  41 ┆ Unit 040 ┆ concluded ┆ wire                                            │
    │  42 ┆ Unit 041 ┆ concluded ┆ not_present                                     │
    │  43 ┆ Unit 042 ┆ concluded ┆ part                                            │
    │  44 ┆ Unit 043 ┆ concluded ┆ not_present                                     │
    │  45 ┆ Unit 044 ┆ concluded ┆ wire                                            │
    │  46 ┆ Unit 045 ┆ failed    ┆ row 46, column key: key: `of` is not a state    │
    │     ┆          ┆           ┆ that is known here; it is one of off,           │
    │     ┆          ┆           ┆ accessory, on, unknown                          │
    │  47 ┆ Unit 046 ┆ failed    ┆ row 47 has 4 cells, and the header has 11       │
    └─────┴──────────┴───────────┴─────────────────────────────────────────────────┘
    ┌─────────────┬──────┐
    │ cause       ┆ rows │
    ╞═════════════╪══════╡
    │ ended       ┆    2 │
    │ failed      ┆    2 │
    │ not_present ┆   20 │
    │ part        ┆    6 │
    │ waits       ┆    8 │
    │ wire        ┆    8 │
    └─────────────┴──────┘
    46 rows: 8 waiting, 2 failed, 2 without a cause. A row that waits is answered
      with `ohmwright resume RECORD`, or mended in the table and run again.
    Summary: [folder]/records/fleet-p-summary.csv
    ");
    assert_snapshot!(place.read("records/fleet-p-summary.csv"), @r#"
    row,vehicle,outcome,causes,detail,record
    2,Unit 001,concluded,not_present,,fleet-p-row-00002
    3,Unit 002,concluded,not_present,,fleet-p-row-00003
    4,Unit 003,concluded,part,,fleet-p-row-00004
    5,Unit 004,concluded,wire,,fleet-p-row-00005
    6,Unit 005,waits,,"row 6, column supply: empty",fleet-p-row-00006
    7,Unit 006,concluded,part,,fleet-p-row-00007
    8,Unit 007,concluded,not_present,,fleet-p-row-00008
    9,Unit 008,concluded,wire,,fleet-p-row-00009
    10,Unit 009,waits,,"row 10, column supply: `4.9o8`: `o8` is not a unit that a meter shows: type the number alone for V, or the number and its unit",fleet-p-row-00010
    11,Unit 010,concluded,not_present,,fleet-p-row-00011
    12,Unit 011,concluded,not_present,,fleet-p-row-00012
    13,Unit 012,waits,,"row 13, column supply: `4,998`: `4,998` can be read as 4.998 or as 4998: type it with a point, or without the comma",fleet-p-row-00013
    14,Unit 013,concluded,not_present,,fleet-p-row-00014
    15,Unit 014,concluded,not_present,,fleet-p-row-00015
    16,Unit 015,waits,,"row 16, column supply: `0.498`: Expected about 4.98 V. Decimal slip, or wrong range?",fleet-p-row-00016
    17,Unit 016,concluded,wire,,fleet-p-row-00017
    18,Unit 017,concluded,not_present,,fleet-p-row-00018
    19,Unit 018,concluded,part,,fleet-p-row-00019
    20,Unit 019,concluded,not_present,,fleet-p-row-00020
    21,Unit 020,waits,,"row 21, column seen: `perhaps`: `perhaps` is neither yes nor no: type 1 for yes or 2 for no",fleet-p-row-00021
    22,Unit 021,concluded,part,,fleet-p-row-00022
    23,Unit 022,concluded,not_present,,fleet-p-row-00023
    24,Unit 023,waits,,"row 24, column seen: empty",fleet-p-row-00024
    25,Unit 024,concluded,wire,,fleet-p-row-00025
    26,Unit 025,concluded,not_present,,fleet-p-row-00026
    27,Unit 026,concluded,not_present,,fleet-p-row-00027
    28,Unit 027,concluded,not_present,,fleet-p-row-00028
    29,Unit 028,waits,,"row 29, column supply: `skip`: `skip` is not a reading: type the number that the meter shows, such as 4.998 V",fleet-p-row-00029
    30,Unit 029,concluded,not_present,,fleet-p-row-00030
    31,Unit 030,ended,,"Unfinished: `supply` shows OL, which says nothing of the circuit: look at the meter's dial, range and leads",fleet-p-row-00031
    32,Unit 031,concluded,not_present,,fleet-p-row-00032
    33,Unit 032,concluded,wire,,fleet-p-row-00033
    34,Unit 033,waits,,"row 34, column supply: `12 A`: `12 A` is amperes, but volts were asked for: is the meter on the wrong function?",fleet-p-row-00034
    35,Unit 034,concluded,not_present,,fleet-p-row-00035
    36,Unit 035,concluded,not_present,,fleet-p-row-00036
    37,Unit 036,concluded,wire,,fleet-p-row-00037
    38,Unit 037,ended,,Unconcluded: the procedure came to its end without a cause,fleet-p-row-00038
    39,Unit 038,concluded,not_present,,fleet-p-row-00039
    40,Unit 039,concluded,part,,fleet-p-row-00040
    41,Unit 040,concluded,wire,,fleet-p-row-00041
    42,Unit 041,concluded,not_present,,fleet-p-row-00042
    43,Unit 042,concluded,part,,fleet-p-row-00043
    44,Unit 043,concluded,not_present,,fleet-p-row-00044
    45,Unit 044,concluded,wire,,fleet-p-row-00045
    46,Unit 045,failed,,"row 46, column key: key: `of` is not a state that is known here; it is one of off, accessory, on, unknown",
    47,Unit 046,failed,,"row 47 has 4 cells, and the header has 11",
    "#);
    // Each row that could be begun has a record of its own.
    assert_eq!(place.records().len(), 44);
    let events = place.events_of("fleet-p-row-00005");
    assert_eq!((&events[0]["row"]["table"], &events[0]["row"]["row"]), (&"fleet.csv".into(), &5.into()));
    assert_eq!(events[0]["job"]["vehicle"], "Unit 004");
}

#[test]
fn running_again_records_nothing_twice_and_says_the_same() {
    let place = place();
    let first = batch(&place);
    let before = place.journals();
    let summary = place.read("records/fleet-p-summary.csv");
    let again = batch(&place);
    assert_eq!(place.journals(), before);
    // What is wrong with a row is said again in full, though no record has it.
    assert!(summary.contains("`4.9o8`: "), "{summary}");
    let plain = |text: &str| text.replace(",as before,", ",concluded,");
    assert_eq!(plain(&place.read("records/fleet-p-summary.csv")), plain(&summary));
    assert_eq!(again.code, first.code);
    again.says("as before").says("row 6, column supply: empty");
}

#[test]
fn a_changed_row_makes_a_linked_record_and_leaves_the_others() {
    let place = place();
    batch(&place);
    place.file(
        "fleet.csv",
        table().replace(
            "Unit 009,A. Tester,off,stopped,600,down,chocked,connected,absent,4.9o8",
            "Unit 009,A. Tester,off,stopped,600,down,chocked,connected,absent,4.908",
        ),
    );
    let before = place.records();
    batch(&place);
    let new: Vec<_> = place.records().into_iter().filter(|name| !before.contains(name)).collect();
    assert_eq!(new, ["fleet-p-row-00010-2"]);
    let link = place.events_of(&new[0])[0]["link"].clone();
    assert_eq!((&link["kind"], &link["record"]), (&"changed_row".into(), &"fleet-p-row-00010".into()));
}

#[test]
fn an_edited_procedure_makes_linked_records_of_every_row() {
    let place = place();
    batch(&place);
    let before = place.records();
    place.procedure(&BODY.replace("4.75", "4.7"));
    batch(&place);
    let new: Vec<_> = place.records().into_iter().filter(|name| !before.contains(name)).collect();
    assert_eq!((before.len(), new.len()), (44, 44));
    for name in new {
        let link = place.events_of(&name)[0]["link"].clone();
        assert_eq!(link["kind"], "changed_row", "{name}");
        assert_eq!(Some(link["record"].as_str().unwrap()), name.strip_suffix("-2"), "{name}");
    }
}

#[test]
fn a_row_that_waits_is_resumed_by_a_person() {
    let place = place();
    batch(&place);
    place
        .call("resume fleet-p-row-00006")
        .typing(&["", "5.00", "2", ""])
        .go()
        .ended(0)
        .says("The fault did not show during this test");
    batch(&place).never_says("row 6, column supply: empty");
}

#[test]
fn a_procedure_with_an_error_fails_each_row_and_fails_it_again() {
    let place = Place::with(
        "let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\nif supply > 5 { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    place.file("fleet.csv", "vehicle,supply\nUnit 1,5.00\nUnit 2,4.1\n");
    batch(&place).ended(1).says("2 rows: 0 waiting, 2 failed").says("can't compare a reading with the bare number 5");
    batch(&place).ended(1).says("2 failed");
}

#[test]
fn rows_that_end_without_a_cause_are_not_called_concluded() {
    let place = Place::with(BODY);
    place.file("fleet.csv", "vehicle,supply,seen\nUnit 1,5.6,no\nUnit 2,5.00,no\n");
    batch(&place).never_says("all concluded").says("1 without a cause");
    batch(&place).never_says("all concluded");
}

#[test]
fn a_header_with_an_unknown_column_is_refused_before_any_row() {
    let place = Place::with(BODY);
    for header in ["vehicle,suply,seen", "vehicle,supply,supply", "vehicle,,seen", "vehicle,quite_another,seen"] {
        place.file("fleet.csv", format!("{header}\nUnit 1,5.00,no\n"));
        batch(&place).ended(3);
    }
    place.file("fleet.csv", "vehicle,suply,seen\nUnit 1,5.00,no\n");
    assert_snapshot!(batch(&place), @r#"
    exit 3
    --- stderr
    error: the column `suply` is neither a prompt of `p` nor anything about the job
      ╭▸ fleet.csv:1:9
      │
    1 │ vehicle,suply,seen
      │         ━━━━━
      ╰╴
    help: did you mean `supply`?
    "#);
    place.file("fleet.csv", "vehicle,supply,supply\nUnit 1,5.00,no\n");
    assert_snapshot!(batch(&place), @r#"
    exit 3
    --- stderr
    error: the column `supply` is there twice
      ╭▸ fleet.csv:1:16
      │
    1 │ vehicle,supply,supply
      │                ━━━━━━
      ╰╴
    help: keep one of them
    "#);
    assert_eq!(place.records(), Vec::<String>::new());
}

#[test]
fn a_table_without_a_row_or_a_header_is_no_success() {
    let place = Place::with(BODY);
    place.file("fleet.csv", "");
    batch(&place).ended(3);
    place.file("fleet.csv", "vehicle,supply,seen\n");
    batch(&place).ended(3);
    place.call("batch p.rhai nowhere.csv").go().ended(7).says("nowhere.csv");
}

#[test]
fn tables_as_spreadsheets_write_them_are_read() {
    let place = Place::with(BODY);
    place.file("fleet.csv", "\u{feff}vehicle, supply ,seen\r\n\"Unit, 1\",\"5.00\",1\r\n\r\nUnit 2, 4.10 ,2\r\n");
    batch(&place).ended(0).says("2 rows: all concluded.");
    assert_eq!(place.events_of("fleet-p-row-00002")[0]["job"]["vehicle"], "Unit, 1");
    let answers = place.events_of("fleet-p-row-00004");
    assert_eq!(of_kind(&answers, "answered")[0]["typed"], "4.10");
}

#[test]
fn bytes_that_are_no_text_fail_their_row_alone() {
    let place = Place::with(BODY);
    place.file("fleet.csv", b"vehicle,supply,seen\nUnit 1,5.00,no\nUnit \xff,5.00,no\nUnit 3,4.1,no\n");
    batch(&place).ended(1).says("3 rows: 0 waiting, 1 failed").says("is not UTF-8 text: save the table as UTF-8");
    assert_eq!(place.records().len(), 2);
}

#[test]
fn a_meter_that_the_shop_lacks_is_that_rows_own_problem() {
    let place = Place::with(BODY);
    place.file("shop.toml", "[[meter]]\nid = \"bench\"\nname = \"Bench meter\"\n");
    place.file("fleet.csv", "vehicle,meter,supply,seen\nUnit 1,bench,5.00,no\nUnit 2,bnech,5.00,no\n");
    batch(&place).ended(1).says("row 3, column meter: the shop has no meter").says("`bnech`");
    assert_eq!(place.records().len(), 1);
}

#[test]
fn cautions_of_a_table_say_that_nobody_was_there() {
    let place = Place::with(
        "step(\"One\", near(\"battery\"));\nlet supply = read(\"supply\", \"Supply\", at_least(12.V));\nconclude(\"wire\");\n",
    );
    place.file("fleet.csv", "vehicle,supply\nUnit 1,12.6\n");
    batch(&place).ended(0);
    assert_eq!(of_kind(&place.events(), "acknowledged")[0]["by_person"], false);
}

#[test]
fn the_summary_goes_where_it_is_told() {
    let place = Place::with(BODY);
    place.file("fleet.csv", "vehicle,supply,seen\n=1+1,5.00,no\n");
    place.call("batch p.rhai fleet.csv --summary out.csv").go().ended(0).says("Summary: out.csv");
    assert!(place.read("out.csv").starts_with("row,vehicle,outcome,causes,detail,record\n2,'=1+1,concluded,"));
    place.call("batch p.rhai fleet.csv --summary nowhere/out.csv").go().ended(7);
}

#[test]
fn why_a_rows_meter_can_not_be_used_is_said_once_looked_for() {
    let place = Place::with("read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\nconclude(\"wire\");\n");
    place.file("shop.toml", "name = \"Test shop\"\n[[meter]]\nid = \"blue\"\nname = \"Bench meter\"\n");
    place.file("rows.csv", "vehicle,meter,supply\nA,bleu,5.0\nB,blue,5.0\nC,bleu,5.0\n");
    let shown = place.call("batch p.rhai rows.csv").width(200).go().ended(1);
    assert_eq!(shown.count("the shop has no meter `bleu`; did you mean `blue`?"), 2, "{shown}");
}

#[test]
fn a_prompt_with_the_name_of_a_state_has_a_column_of_its_own() {
    let place = Place::with(
        "let b = read(\"battery\", \"Battery at rest\", at_least(12.V));\nif b.ok { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    place.file("t.csv", "vehicle,battery\nUnit 1,connected\n");
    place.call("batch p.rhai t.csv").go().ended(4).says("there is no column answer.battery; add one,");
    place.file("u.csv", "vehicle,battery,answer.battery\nUnit 1,connected,12.6\nUnit 2,connected,\nUnit 3,,11.1\n");
    let shown = place.call("batch p.rhai u.csv --summary s.csv").go().ended(4);
    shown.says("row 3, column answer.battery: empty");
    let summary = place.read("s.csv");
    assert!(summary.contains("Unit 1,concluded,wire") && summary.contains("Unit 3,concluded,part"), "{summary}");
}

/// A shop with a meter, and a table of three rows of which the second lacks its first answer.
fn two_readings() -> Place {
    let place = Place::with(
        "let rest = read(\"rest\", \"At rest\", at_least(12.V));\nlet running = read(\"running\", \"Running\", at_least(13.V));\n\
        if rest.low || running.low { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    place.file(
        "shop.toml",
        "name = \"Test shop\"\n[[person]]\nname = \"Ana Example\"\n[[meter]]\nid = \"red\"\nname = \"Red\"\n",
    );
    place.file("t.csv", "vehicle,rest,running\nUnit 1,12.6,14.1\nUnit 2,,12.1\n");
    place
}

#[test]
fn only_what_can_change_a_rows_result_makes_another_record_of_it() {
    let place = two_readings();
    let again = |file: &str, more: &str| {
        let before = place.records();
        place.file(file, place.read(file) + more);
        place.call("batch p.rhai t.csv --meter red").go().without_panic();
        place.records().into_iter().filter(|name| !before.contains(name)).count()
    };
    assert_eq!(again("shop.toml", ""), 2);
    assert_eq!(again("shop.toml", "[[person]]\nname = \"Bo Example\"\n"), 0, "another person");
    assert_eq!(again("t.csv", "Unit 3,12.6,14.1\n"), 1, "another row");
    let caution = "[[caution]]\nid = \"own\"\nword = \"NOTICE\"\ntext = \"Look.\"\nsource = \"common practice, no source\"\nwhen = { zones = [\"pit\"] }\n";
    assert_eq!(again("shop.toml", caution), 3, "another caution");
    place.file(
        "shop.toml",
        place.read("shop.toml").replace("name = \"Red\"", "name = \"Red\"\ncalibration_due = \"2027-03-31\""),
    );
    assert_eq!(again("t.csv", ""), 3, "another meter");
}

#[test]
fn a_row_that_was_helped_on_by_hand_goes_on_with_its_cells() {
    let place = two_readings();
    place.call("batch p.rhai t.csv").go().ended(4).says("row 3, column rest: empty");
    place.file("rest.toml", "procedure = \"p\"\n[answers]\nrest = \"12.6\"\n");
    place.call("resume t-p-row-00003 --answers rest.toml").go().ended(4).says("Waits for `running`");
    let shown = place.call("batch p.rhai t.csv").go().ended(0);
    shown.says("│ 3 ┆ Unit 2 ┆ concluded ┆ wire │").never_says("is not enough");
    assert_eq!(place.records().len(), 2);
    assert_eq!(typed(&place.events_of("t-p-row-00003"), "running"), ["12.1"]);
    place.call("verify --allow-unsigned t-p-row-00003").go().ended(0).says("same cause");
    place.call("batch p.rhai t.csv").go().ended(0).says("as before");
    // A cell that is still no good says so, and nothing is written.
    let place = two_readings();
    place.file("t.csv", "vehicle,rest,running\nUnit 2,,12.x\n");
    place.call("batch p.rhai t.csv").go().ended(4);
    place.file("rest.toml", "procedure = \"p\"\n[answers]\nrest = \"12.6\"\n");
    place.call("resume t-p-row-00002 --answers rest.toml").go().ended(4);
    let before = place.read("records/t-p-row-00002/journal.jsonl");
    place.call("batch p.rhai t.csv").go().ended(4).says("row 2, column running: `12.x`:");
    assert_eq!(place.read("records/t-p-row-00002/journal.jsonl"), before);
}

#[test]
fn a_row_that_was_mended_leaves_nothing_to_take_up() {
    let place = two_readings();
    place.call("batch p.rhai t.csv").go().ended(4);
    place.call("list").go().ended(0).says("t-p-row-00003: Unit 2: Test");
    place.file("t.csv", "vehicle,rest,running\nUnit 1,12.6,14.1\nUnit 2,12.6,14.1\n");
    place.call("batch p.rhai t.csv").go().ended(0);
    place.call("list").go().ended(0).never_says("Runs to resume");
}

#[test]
fn a_technician_whom_the_shop_does_not_list_is_named_once() {
    let place = two_readings();
    place.file("t.csv", "vehicle,technician,rest,running\nA,Nobody Known,12.6,14.1\nB,Nobody Known,12.6,14.1\nC,Ana Example,12.6,14.1\n");
    let shown = place.call("batch p.rhai t.csv").go().ended(0);
    assert_eq!(shown.count("The shop lists nobody named Nobody Known"), 1, "{shown}");
    place.file("job.toml", "[job]\nvehicle = \"A\"\ntechnician = \"Nobody Known\"\n");
    place.call("run p.rhai --job job.toml").go().says("The shop lists nobody named Nobody Known");
}

#[test]
fn what_a_killed_run_left_of_a_row_before_its_first_line_takes_no_name() {
    let place = place();
    for (left, journal) in [("fleet-p-row-00002", false), ("fleet-p-row-00003", true)] {
        std::fs::create_dir_all(place.path(&format!("records/{left}"))).unwrap();
        if journal {
            place.file(&format!("records/{left}/journal.jsonl"), "");
        }
    }
    batch(&place);
    let records = place.records();
    assert!(records.iter().any(|name| name == "fleet-p-row-00002"), "{records:?}");
    assert!(!records.iter().any(|name| name.ends_with("-2")), "{records:?}");
}
