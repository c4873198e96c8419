//! Tables that can't be what was meant, and what is known of a row that was there before.

use crate::place::{Place, Shown};

const BODY: &str = "let park = read(\"park\", \"Park\", at_least(4.V));\nlet feed = read(\"feed\", \"Feed\", at_least(12.V));\n\
    if park.low || feed.low { conclude(\"wire\"); }\nconclude(\"part\");\n";

/// The vehicle's columns, and cells for one on which nothing is hazardous.
const STATES: &str = "vehicle,key,engine,ran,lift,wheels,battery,high_voltage";
const SAFE: &str = "off,stopped,600,down,chocked,connected,absent";

fn with(table: impl AsRef<[u8]>) -> Place {
    let place = Place::with(BODY);
    place.file("t.csv", table);
    place
}

fn batch(place: &Place) -> Shown {
    place.call("batch p.rhai t.csv").go()
}

#[test]
fn an_open_quotation_mark_takes_no_row_in() {
    let header = "vehicle,concern,park,feed\n";
    let place = with(format!("{header}A,,5.0,12.4\nB,,5.0,\"12.4\nC,,5.0,12.4\nD,,5.0,12.4\n"));
    batch(&place).ended(3).says(
        "t.csv: row 3, column feed: a quotation mark is opened and never closed; rows 4-5 were taken into the cell",
    );
    assert_eq!(place.records(), Vec::<String>::new(), "nothing is begun");
    for (rows, says) in [
        ("A,,5.0,12.4\nB,,5.0,\"12.4", "row 3, column feed: a quotation mark is opened and never closed"),
        (
            "A,,\"5.0,12.4\r\nB,,5.0,12.4\r\n",
            "row 2, column park: a quotation mark is opened and never closed; row 3 was",
        ),
        (
            "A,,5.0,\"12.4\nB,,5.0,\"12.4\"\n",
            "row 2, column feed: a quotation mark is opened, and row 3 was taken into",
        ),
        (
            "A,\"noise,5.0,12.4\nB,\"noise\",5.0,12.4\n",
            "row 2, column concern: a quotation mark is opened, and row 3 was",
        ),
        (
            "A,\"noise,5.0,12.4\nB,,5.0,12.4\nC,gap of 1\",5.0,12.4\n",
            "row 2, column concern: a quotation mark is opened, and rows 3-4",
        ),
        (
            "\"A\nB\",,5.0,12.4\n",
            "row 2, column vehicle: a quotation mark is opened, and row 3 was taken into the cell",
        ),
    ] {
        let place = with(format!("{header}{rows}"));
        batch(&place).ended(3).says(says);
        assert_eq!(place.records(), Vec::<String>::new(), "{rows}");
    }
    // What is meant stays: a concern of two lines, a mark within a cell, two marks for one.
    let place = with(format!("{header}A,\"noise,\nwhen cold\",5.0,\"12.4\"\nB 1\",\"a \"\"b\"\"\",5.0,12.4\n"));
    batch(&place).ended(0).says("2 rows: all concluded");
    assert_eq!(place.records(), ["t-p-row-00002", "t-p-row-00004"]);
}

#[test]
fn lines_that_end_in_a_carriage_return_alone_are_rows_of_their_own() {
    let place = with("vehicle,park,feed\rA,5.0,12.4\rB,5.0,\r\rC,3.0,12.4\r");
    let shown = batch(&place).ended(4);
    shown.says("│ 2 ┆ A ┆ concluded ┆ part │").says("row 3, column feed: empty").says("│ 5 ┆ C ┆ concluded ┆ wire │");
    assert_eq!(place.records(), ["t-p-row-00002", "t-p-row-00003", "t-p-row-00005"]);
    batch(&place).ended(4).says("as before");
    assert_eq!(place.records().len(), 3);
}

#[test]
fn a_table_that_is_no_utf8_text_says_so_and_what_to_do() {
    let utf16: Vec<u8> = "vehicle,park,feed\nA,5.0,12.4\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    for bytes in [[&[0xff, 0xfe], &*utf16].concat(), utf16, b"vehicle,park,feed,concern\xe9\nA,5.0,12.4,x\n".to_vec()] {
        batch(&with(bytes)).ended(3).says("here the file is not UTF-8 text").says("t.csv:1:").says("save it as UTF-8");
    }
    batch(&with(b"vehicle,park,feed\nA\xe9,5.0,12.4\n"))
        .ended(1)
        .says("row 2 is not UTF-8 text: save the table as UTF-8");
}

#[test]
fn what_has_no_end_is_not_read_to_its_end() {
    let place = with("vehicle,park,feed\n");
    for call in ["batch p.rhai /dev/zero", "run p.rhai --answers /dev/zero", "run /dev/zero", "circuit /dev/zero"] {
        let limits = "ulimit -v 4000000";
        place.call(call).under(limits).go().ended(3).says("/dev/zero");
    }
    let file = std::fs::File::create(place.path("huge.csv")).unwrap();
    file.set_len(30 << 30).unwrap();
    place.call("batch p.rhai huge.csv").under("ulimit -v 4000000").go().ended(3).says("huge.csv: row 1 has more");
    let rows = format!("vehicle,park,feed\nA,5.0,12.4{}\n", "0".repeat(2 << 20));
    place.file("long.csv", rows);
    place.call("batch p.rhai long.csv").go().ended(3).says("row 2 has more than a million bytes");
}

#[test]
fn a_column_that_can_be_no_prompt_is_refused_and_the_list_says_what_it_leaves_out() {
    let place = with("vehicle,park,feed (V)\nA,5.0,12.4\n");
    batch(&place).ended(3).says("the column `feed (V)` is neither a prompt").says("write it alone, without the unit");
    let place = Place::with(
        "fn both(name) { read(name + \"_rest\", \"Rest\", at_least(12.V)); }\nlet park = read(\"park\", \"Park\", at_least(4.V));\n\
        both(\"battery\");\nconclude(\"part\");\n",
    );
    place.file("t.csv", "vehicle,park,remarks\nA,5.0,12.4\n");
    batch(&place).ended(3).says("prompts of this procedure: park; and others, whose ids it puts together");
    place.file("t.csv", "vehicle,park,battery_rest (V)\nA,5.0,12.4\n");
    batch(&place).ended(3).says("the column `battery_rest (V)` is neither");
}

#[test]
fn nothing_is_said_of_a_column_where_no_row_came_to_a_question() {
    let place = with("vehicle,key,park,feed\nA,of,5.0,12.4\nB,of,5.0,12.4\n");
    batch(&place).ended(1).says("2 failed").never_says("no row was asked");
}

#[test]
fn two_tables_of_one_name_have_records_of_their_own() {
    let place = with("");
    place.file("d1/mon.csv", "vehicle,park,feed\nA,5.0,12.4\nB,5.0,\n");
    place.file("d2/mon.csv", "vehicle,park,feed\nC,5.0,\nD,5.0,12.4\n");
    place.call("batch p.rhai d1/mon.csv").go().ended(4).never_says("the same name");
    let shown = place.call("batch p.rhai d2/mon.csv").go().ended(4);
    shown.says("d1/mon.csv has the same name, so that the records of this one are called mon-2-p-row-");
    let all = ["mon-2-p-row-00002", "mon-2-p-row-00003", "mon-p-row-00002", "mon-p-row-00003"];
    assert_eq!(place.records(), all);
    assert!(place.journals().iter().all(|(_, journal)| !journal.contains("changed_row")));
    place.call("list").go().says("mon-p-row-00003: B").says("mon-2-p-row-00002: C");
    assert!(place.read("records/mon-p-summary.csv").contains("mon-p-row-00003"));
    assert!(place.read("records/mon-2-p-summary.csv").contains("mon-2-p-row-00002"));
    // Each knows its own again, in whatever order, and so does one that was moved.
    std::fs::create_dir(place.path("d3")).unwrap();
    std::fs::rename(place.path("d1/mon.csv"), place.path("d3/mon.csv")).unwrap();
    for table in ["d2/mon.csv", "d3/mon.csv", "d2/../d2/mon.csv"] {
        place.call(&format!("batch p.rhai {table}")).go().ended(4).says("as before");
    }
    assert_eq!(place.records(), all);
}

#[test]
fn a_row_that_moved_is_as_before_and_is_linked_with_no_other_vehicle() {
    let header = "vehicle,park,feed\n";
    let place = with(format!("{header}A,5.0,12.4\nB,5.0,\nC,3.0,12.4\n"));
    batch(&place).ended(4);
    // Another row above: what is there moves, and waits where it did.
    place.file("t.csv", format!("{header}New,5.0,12.4\nA,5.0,12.4\nB,5.0,\nC,3.0,12.4\n"));
    let shown = batch(&place).ended(4);
    shown.says("│ 2 ┆ New ┆ concluded ┆ part │").says("│ 3 ┆ A ┆ as before ┆ part │").says("row 4, column feed: empty");
    assert_eq!(place.records(), ["t-p-row-00002", "t-p-row-00002-2", "t-p-row-00003", "t-p-row-00004"]);
    assert!(place.events_of("t-p-row-00002-2")[0]["link"].is_null(), "another vehicle");
    place.call("list").go().says("t-p-row-00003: B");
    // Sorted: nothing is recorded again.
    place.file("t.csv", format!("{header}C,3.0,12.4\nB,5.0,\nA,5.0,12.4\nNew,5.0,12.4\n"));
    batch(&place).ended(4).says("row 3, column feed: empty");
    assert_eq!(place.records().len(), 4);
    // The same vehicle on the same line, and mended: linked.
    place.file("t.csv", format!("{header}C,3.0,12.4\nB,5.0,12.4\nA,5.0,12.4\nNew,5.0,12.4\n"));
    batch(&place).ended(0);
    assert_eq!(place.events_of("t-p-row-00003-2")[0]["link"]["record"], "t-p-row-00003");
    place.call("list").go().never_says("Runs to resume");
}

#[test]
fn rows_that_name_no_vehicle_and_are_alike_have_records_of_their_own() {
    let place = with("park,feed\n5.0,12.4\n");
    batch(&place).ended(0);
    place.file("t.csv", "park,feed\n5.0,12.4\n5.0,12.4\n");
    batch(&place).ended(0);
    assert_eq!(place.records(), ["t-p-row-00002", "t-p-row-00003"]);
}

#[test]
fn a_row_that_was_helped_on_and_put_down_goes_on_with_its_cells() {
    let place = with(format!("{STATES},park,feed\nA,{SAFE},,12.5\n"));
    batch(&place).ended(4).says("row 2, column park: empty");
    place.call("resume t-p-row-00002").typing(&["", "5.0", "pause"]).go().ended(4);
    batch(&place).ended(0).says("│ 2 ┆ A ┆ concluded ┆ part │");
    place.call("verify --allow-unsigned t-p-row-00002").go().ended(0);
    // Without its cell it waits where it was put down, and says for what.
    let place = with(format!("{STATES},park,feed\nA,{SAFE},,\n"));
    batch(&place).ended(4);
    place.call("resume t-p-row-00002").typing(&["", "5.0", "pause"]).go().ended(4);
    let before = place.journals();
    batch(&place).ended(4).says("row 2, column feed: empty");
    assert_eq!(place.journals(), before);
}

#[test]
fn a_row_whose_batch_was_killed_while_it_went_on_with_it_goes_on_again() {
    let place = with("vehicle,park,feed\nA,,12.5\n");
    batch(&place).ended(4);
    place.file("park.toml", "procedure = \"p\"\n[answers]\npark = \"5.0\"\n");
    place.call("resume t-p-row-00002 --answers park.toml").go().ended(4);
    let journal = place.read("records/t-p-row-00002/journal.jsonl");
    let resumed = journal.lines().find(|line| line.contains("\"resumed\"")).unwrap();
    place.file("records/t-p-row-00002/journal.jsonl", format!("{journal}{resumed}\n"));
    batch(&place).ended(0).says("│ 2 ┆ A ┆ concluded ┆ part │");
}

#[test]
fn a_batch_that_was_killed_leaves_no_summary_behind_for_good() {
    let place = with("vehicle,park,feed,concern\nA,5.0,,\n\u{ff1d}1+1,5.0,,\n");
    place.file("records/.t-p-summary.csv.new", "row,");
    batch(&place).ended(4);
    let left = std::fs::read_dir(place.path("records")).unwrap().map(|entry| entry.unwrap().file_name());
    assert!(left.into_iter().all(|name| !name.to_string_lossy().ends_with(".new")));
    let summary = place.read("records/t-p-summary.csv");
    assert!(summary.contains(",'\u{ff1d}1+1,"), "no spreadsheet takes a vehicle for a formula: {summary}");
}

#[test]
fn a_digest_that_is_none_names_no_file() {
    let place = with("vehicle,park,feed\nA,5.0,\n");
    batch(&place).ended(4);
    let journal = place.read("records/t-p-row-00002/journal.jsonl");
    let at = journal.find("\"sha256\":\"").unwrap() + "\"sha256\":\"".len();
    let foreign = format!("{}/dev/zero{}", &journal[..at], &journal[at + 64..]);
    place.file("records/t-p-row-00002/journal.jsonl", foreign);
    let shown = place.call("resume t-p-row-00002 --kept-copy").under("ulimit -v 4000000").go();
    shown.ended(3).says("by `/dev/zero`, which is not a digest");
}
