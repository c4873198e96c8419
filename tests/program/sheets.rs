//! Answers files: what is wrong with one stands at its place, and nothing that is written in it is passed over.

use crate::place::{Place, typed};
use std::process::Stdio;

const BODY: &str = "let park = read(\"park\", \"Park\", at_least(4.V));\nlet feed = read(\"feed\", \"Feed\", at_least(12.V));\n\
    let long = read(\"feed_long\", \"Feed, long\", at_least(12.V));\n\
    if park.low || feed.low || long.low { conclude(\"wire\"); }\nconclude(\"part\");\n";

#[test]
fn what_is_wrong_with_an_answer_is_shown_where_it_stands() {
    let place = Place::with(BODY);
    for (text, says) in [
        ("# \u{e9}\u{e9}\u{e9}\nprocedure = \"p\"\n[answers]\n  fed2 = 12\n", "answers.toml:4:3"),
        ("procedure = \"p\"\n[answers]\n\"fed2\" = 12\n", "answers.toml:3:1"),
        ("procedure = \"p\"\n[answers]\nfeed_long = 12\nfeed_lon = 12\n", "answers.toml:4:1"),
        ("# \u{e9}\nprocedure = \"p\"\n[answers]\n\u{e9}\u{e9} = 12\n", "answers.toml:4:1"),
        ("# q is for\n  procedure = \"q\"\n[answers]\n", "answers.toml:2:15"),
        ("procedure = \"p\"\n[answers]\n  feed = [[1]]\n", "answers.toml:3:3"),
    ] {
        place.file("answers.toml", text);
        place.call("run p.rhai --answers answers.toml").go().ended(3).says(says);
    }
    place.file(
        "c.rhai",
        "//! title = \"A-b stands here first\"\n//! revision = 1\n//! [causes]\n//!   A-b = { cause = 'x', correction = 'y' }\n",
    );
    place
        .call("run c.rhai --answers answers.toml")
        .go()
        .ended(3)
        .says("`A-b` can't be a cause's name")
        .says("c.rhai:4:7");
}

#[test]
fn a_second_entry_that_is_not_needed_is_said() {
    let place = Place::with(BODY);
    let shown =
        place.with_answers("park = \"5.0\"\nfeed = [\"12.5\", \"1.25\"]\nfeed_long = [\"12.5\", \"12.5\"]\n").ended(0);
    shown.says("note: `feed`: 12.5 was not doubted; 1.25 is not used").never_says("`feed_long`: ");
    assert_eq!(typed(&place.events(), "feed"), ["12.5"]);
    // One that is needed is used; of three, none is left out in silence.
    let place = Place::with("read(\"rail\", \"Rail\", between(4.75.V, 5.25.V));\nconclude(\"part\");\n");
    place.with_answers("rail = [\"0.498\", \"4.98\"]\n").ended(0).never_says("not used");
    assert_eq!(typed(&place.events(), "rail"), ["4.98"]);
    let place = Place::with(BODY);
    place
        .with_answers("park = \"5.0\"\nfeed = [\"12.5\", \"1.25\", \"3\"]\n")
        .ended(4)
        .says("Waits for `feed`")
        .says("note: `feed`: more than two entries are written for one reading");
    let place = Place::with("let seen = ask(\"seen\", \"Seen?\");\nconclude(\"part\");\n");
    place.with_answers("seen = [\"yes\", \"no\"]\n").ended(4).says("`yes; no`");
    // In a table, too.
    let place = Place::with(BODY);
    place.file("t.csv", "vehicle,park,feed,feed_long\nA,5.0,12.5; 1.25,12.5\nB,5.0,12.5; 1.25; 3,12.5\n");
    let shown = place.call("batch p.rhai t.csv").go().ended(4);
    shown
        .says("note: row 2, column feed: 12.5 was not doubted; 1.25 is not used")
        .says("row 3, column feed: `12.5; 1.25; 3`");
}

#[test]
fn answers_that_go_on_with_a_record_are_looked_through_like_those_of_a_run() {
    let place = Place::with(BODY);
    place.with_answers("park = \"5.0\"\n").ended(4);
    let record = place.record();
    let before = place.journals();
    place.file("more.toml", "procedure = \"p\"\n[answers]\n  fed = 12.5\n");
    let resume = format!("resume {record} --answers more.toml");
    place.call(&resume).go().ended(3).says("`p` has no prompt `fed`").says("more.toml:3:3");
    assert_eq!(place.journals(), before);
    let rest = "procedure = \"p\"\n[job]\nvehicle = \"Another\"\n[vehicle]\nkey = \"on\"\n[answers]\nfeed = 12.5\nfeed_long = 12.5\n";
    place.file("more.toml", rest);
    place.call(&resume).go().ended(0).says("[job] and [vehicle] of more.toml are not used: the record has its own");
}

#[test]
fn an_ended_record_is_left_as_it_is() {
    let place = Place::with(BODY);
    place.with_answers("park = \"5.0\"\nfeed = 12.5\nfeed_long = 12.5\n").ended(0);
    let journal = place.journal_of(&place.record());
    let torn = std::fs::read_to_string(&journal).unwrap() + "{\"at\":\"2026";
    std::fs::write(&journal, &torn).unwrap();
    place.call("resume").go().ended(2).says("has ended").says("11 bytes after its end are no whole line");
    assert_eq!(std::fs::read_to_string(&journal).unwrap(), torn);
}

#[test]
fn a_reading_that_was_changed_by_hand_is_seen_when_its_record_is_shown() {
    let place = Place::with(BODY);
    place.with_answers("park = \"5.0\"\nfeed = 12.5\nfeed_long = 12.5\n").ended(0);
    place.call("show").go().ended(0).never_says("SOMETHING IS WRONG");
    let journal = place.journal_of(&place.record());
    let edited = std::fs::read_to_string(&journal).unwrap().replacen("\"12.5\"", "\"10.5\"", 1);
    std::fs::write(&journal, edited).unwrap();
    for call in ["show", "report --format text"] {
        place.call(call).go().ended(0).says("SOMETHING IS WRONG WITH THIS RECORD: it is not proven");
    }
}

#[test]
fn what_was_begun_anew_is_nothing_to_take_up() {
    let place = Place::with(BODY);
    place.with_answers("park = \"5.0\"\n").ended(4);
    let old = place.record();
    place.procedure(&BODY.replace("at_least(4.V)", "at_least(3.V)"));
    place.file("more.toml", "procedure = \"p\"\n[answers]\nfeed = 12.5\n");
    place.call(&format!("resume {old} --new-run --answers more.toml")).go().ended(4).says("Waits for `feed_long`");
    let shown = place.call("list").go().ended(0);
    let new = place.records().into_iter().find(|name| *name != old).unwrap();
    shown.says(&format!("{new}: ")).never_says(&format!("{old}: "));
    place.file("last.toml", "procedure = \"p\"\n[answers]\nfeed_long = 12.5\n");
    place.call("resume --answers last.toml").go().ended(0);
    place.call("list").go().never_says("Runs to resume");
}

#[test]
fn what_can_not_be_printed_is_no_success() {
    let place = Place::with(BODY);
    place.with_answers("park = \"5.0\"\nfeed = 12.5\nfeed_long = 12.5\n").ended(0);
    for call in ["show", "report --format csv", "report --format text", "list", "circuit lamp --spice", "--help"] {
        place.call(call).under("exec >/dev/full").go().ended(7).says("could not be written whole");
    }
    // A reader that went away wanted no more.
    let mut child = place
        .call("list")
        .command()
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!((done.status.code(), done.stderr.as_slice()), (Some(0), &b""[..]));
}

#[test]
fn a_long_list_of_a_sweep_takes_no_longer_than_it_is_long() {
    let place = Place::with(
        "let turn = sweep(\"turn\", \"Turn\", ends(0.V, 20.V), across(\"a\", \"b\"), moving(\"arm\"));\nconclude(\"part\");\n",
    );
    let readings: Vec<String> =
        (0..20_000).map(|number| format!("\"{:.3} @ {number}\"", f64::from(number) / 1000.0)).collect();
    let begun = std::time::Instant::now();
    place.with_answers(&format!("turn = [{}]\n", readings.join(", "))).ended(0);
    assert!(begun.elapsed().as_secs() < 40, "{:?}", begun.elapsed());
    assert_eq!(crate::place::of_kind(&place.events(), "sweep_read").len(), 20_000);
}

#[test]
fn what_can_not_be_right_in_a_shop_is_shown_where_it_stands() {
    let place = Place::with(BODY);
    let meter = "[[meter]]\nid = \"red\"\nname = \"Red\"\nrange = [\n";
    let range =
        "  { function = \"volts\", full_scale = \"60 V\", resolution = \"10 mV\", percent = 0.5, counts = 3 },\n";
    let caution =
        "[[caution]]\nid = \"own\"\nword = \"NOTICE\"\ntext = \"Look.\"\nsource = \"common practice, no source\"\n";
    for (shop, says, at) in [
        (
            "[[role]]\nname = \"lead\"\nmay_sign = [\"performed\", \"reviewd\"]\n".to_owned(),
            "did you mean `reviewed`?",
            ":3:26",
        ),
        (format!("{meter}{range}{range}]\n"), "a range of this kind that ends at 60 V is there twice", ":6:38"),
        (format!("{caution}when = {{ }}\n"), "has no condition under `when`", ":6:8"),
    ] {
        place.file("shop.toml", shop);
        place.with_answers("park = \"5.0\"\n").ended(3).says(says).says(&format!("shop.toml{at}"));
    }
    place.file("shop.toml", "[[role]]\nname = \"lead\"\nmay_sign = [\"performed\", \"released\"]\n");
    place.with_answers("park = \"5.0\"\n").ended(4);
}
