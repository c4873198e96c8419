//! Sweeps, pairs, choices and yes or no, as they are typed.

use crate::place::{LET_STAND, Place, of_kind};
use crate::readings::after_prompt;
use insta::assert_snapshot;

const SWEEP: &str = "let track = sweep(\"track\", \"Turn the shaft slowly\", ends(0.7.V, 4.0.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    if track.stuck { conclude(\"part\"); }\nif track.follows { conclude(\"not_present\"); }\nconclude(\"wire\");\n";

#[test]
fn a_sweep_is_taken_reading_by_reading_with_its_turns() {
    let place = Place::with(SWEEP);
    let shown = place
        .at_vehicle(&["0.7", "1.9 @ half", "4.0", "2.0", "0.72", "", ""])
        .ended(0)
        .says("The fault did not show during this test");
    assert_snapshot!(after_prompt(&shown), @r#"
    LIMITS   0.7 to 4 (ends ± 0.33) V
    A reading a line, or many with spaces; Enter ends   -- undo   // skip
    .. more
    1 V > 0.7
    2 V > 1.9 @ half
    3 V > 4.0
    4 V > 2.0
      turned
    5 V > 0.72
    6 V >
    FOLLOWS  0.7 V … 4.0 V, turns at reading 3
    "#);
    let events = place.events();
    let read: Vec<_> =
        of_kind(&events, "sweep_read").iter().map(|event| event["text"].as_str().unwrap().to_owned()).collect();
    assert_eq!(read, ["0.7", "1.9", "4.0", "2.0", "0.72"]);
    assert_eq!(of_kind(&events, "sweep_read")[1]["position"], "half");
}

#[test]
fn a_sweep_may_be_pasted_and_may_run_downward() {
    for lines in
        [&["0.7 1.5 2.4 3.3 4.0", ""][..], &["4.0, 3.3, 2.4, 1.5, 0.7", ""], &["0.7 V 1500 mV", "2.4;3.3;4.0", ""]]
    {
        let place = Place::with(SWEEP);
        place.to_the_end(lines).ended(0).says("The fault did not show during this test");
        assert_eq!(of_kind(&place.events(), "sweep_read").len(), 5, "{lines:?}");
    }
}

#[test]
fn a_signal_that_stays_at_one_end_does_not_follow() {
    // Common practice, no source: from about 0.7 V to 4.0 V, and stays at 4.0 V while its shaft is turned.
    Place::with(SWEEP).at_vehicle(&["4.0", "4.0", "4.01", "4.0", "", ""]).ended(0).says("Part worn");
}

#[test]
fn inside_a_sweep_nothing_is_doubted_but_nonsense_is_refused() {
    let place = Place::with(SWEEP);
    place
        .at_vehicle(&[
            "",
            "0.07",
            "",
            "xyz",
            "0.7 @ a 0.9",
            "0.7 0.9 @ end",
            "@ end",
            "12 A",
            "40",
            "-0.7",
            "*",
            "",
            "",
        ])
        .ended(0)
        .says("a sweep needs at least 2 readings, and there are 0")
        .says("a sweep needs at least 2 readings, and there is 1");
    let events = place.events();
    assert_eq!(of_kind(&events, "doubted").len(), 0);
    let read: Vec<_> = of_kind(&events, "sweep_read").iter().map(|event| event["text"].clone()).collect();
    assert_eq!(read, ["0.07", "0.7", "40", "-0.7", "*"]);
}

#[test]
fn lowest_and_highest_come_in_one_line() {
    let body = "let pair = lowest_highest(\"pair\", \"Shake the harness\", between(4.8.V, 5.2.V), across(\"signal\", \"ground\"), moving(\"harness\"));\n\
        if pair.ok { conclude(\"not_present\"); }\nif pair.low { conclude(\"wire\"); }\nconclude(\"part\");\n";
    Place::with(body).at_vehicle(&["4.91 5.02", ""]).ended(0).says("The fault did not show");
    Place::with(body).at_vehicle(&["0.2 V 5.02 V", ""]).ended(0).says("Wire open");
    Place::with(body)
        .at_vehicle(&["5.02 4.91", "5.0", "1 2 3", "4.9 x", "4.9 5.0", ""])
        .ended(0)
        .says("is above the highest")
        .says("The fault did not show");
    // Low and high at once is not only high.
    let place = Place::with(body);
    place.at_vehicle(&["0.2 12", ""]).ended(0).says("Wire open");
}

#[test]
fn the_plain_words_work_at_every_kind_of_prompt() {
    let body = "why(\"Because the battery comes first.\");\n\
        let a = read(\"a\", \"Read it\", between(12.V, 13.V));\nif a.skipped { }\n\
        let b = ask(\"b\", \"Is it clean?\");\nif b.skipped { }\n\
        let c = choose(\"c\", \"Which?\", [\"loose\", \"tight\"]);\nif c.skipped { }\n\
        let d = note(\"d\", \"What else?\");\nif d.skipped { }\n\
        let e = sweep(\"e\", \"Turn\", ends(0.7.V, 4.0.V), across(\"x\", \"y\"), moving(\"shaft\"));\nif e.skipped { }\n\
        carry_out(\"Wipe the post\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let each = ["why", "help", "?", "note it is raining", "skip", "", "skip", "no time"];
    let mut lines: Vec<&str> = each.repeat(5);
    // At a note, what follows the word is the note itself: there it goes alone.
    lines.splice(27..28, ["note", "it is raining"]);
    lines.extend(["why", "help", "note done with a rag", ""]);
    let shown = place.to_the_end(&lines).ended(0);
    assert_eq!(shown.count("Because the battery comes first."), 6, "{shown}");
    assert_eq!(shown.count("undo: names the last answer"), 11, "{shown}");
    let events = place.events();
    assert_eq!(of_kind(&events, "noted").len(), 6);
    let reasons: Vec<_> = of_kind(&events, "answered").iter().map(|event| event["reason"].clone()).collect();
    assert_eq!(reasons, ["no time"; 5]);
}

#[test]
fn a_choice_that_is_one_of_the_words_is_chosen() {
    for word in ["back", "pause", "skip", "note", "why", "help"] {
        let place = Place::with(&format!(
            "let c = choose(\"c\", \"Which way?\", [\"front\", \"{word}\"]);\nif c == \"{word}\" {{ conclude(\"wire\"); }}\nconclude(\"part\");\n"
        ));
        place.at_vehicle(&[word, ""]).ended(0).says("Wire open");
        let place = Place::with(&format!(
            "let c = choose(\"c\", \"Which way?\", [\"front\", \"{word}\"]);\nif c == \"{word}\" {{ conclude(\"wire\"); }}\nconclude(\"part\");\n"
        ));
        place.at_vehicle(&["7", "0", "frnt", "2", ""]).ended(0).says("is none of the choices").says("Wire open");
    }
}

#[test]
fn a_choice_is_typed_with_large_letters_too_even_if_it_is_one_of_the_words() {
    let place = Place::with(
        "let c = choose(\"c\", \"Which way?\", [\"front\", \"back\"]);\nif c == \"back\" { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    place.at_vehicle(&["Back", ""]).ended(0).says("Wire open");
}

#[test]
fn a_numeric_pad_is_enough_for_the_whole_normal_path() {
    let body = "step(\"Under it\", near(\"lift\", \"battery\"));\nkey_on();\nlet a = read(\"a\", \"Supply\", between(12.V, 13.V));\n\
        let o = read(\"o\", \"Coil\", between(20.ohm, 30.ohm));\n\
        let b = ask(\"b\", \"Is it clean?\");\nlet c = choose(\"c\", \"Which?\", [\"loose\", \"tight\"]);\n\
        let t = sweep(\"t\", \"Turn\", ends(0.7.V, 4.0.V), across(\"x\", \"y\"), moving(\"shaft\"));\n\
        if o.open && b.yes && c == \"tight\" && t.follows { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    // Job: vehicle, system, no more of it; state: 1 off, 1 stopped, 20 min ago, 2 raised, 1 chocked, 1 connected, 1 absent.
    let keys = [
        "12", "24", "", "1", "1", "20", "2", "1", "1", "1", "+", "+", "+", "", "12.6", "+", "*", "1", "2", "0.7",
        "2.4", "4.0", "",
    ];
    let digits = |key: &&str| key.chars().all(|c| c.is_ascii_digit() || "+-*/.".contains(c));
    assert!(keys.iter().all(digits));
    place.call("run p.rhai").typing(&keys).typing(&LET_STAND).go().ended(0).says("Wire open");
}

#[test]
fn yes_and_no_in_words_and_numbers() {
    let body = "let b = ask(\"b\", \"Is it clean?\");\nif b.yes { conclude(\"wire\"); }\nconclude(\"part\");\n";
    for (text, cause) in
        [("1", "Wire open"), ("y", "Wire open"), ("YES", "Wire open"), ("2", "Part worn"), ("No", "Part worn")]
    {
        Place::with(body)
            .at_vehicle(&["maybe", "3", "", text, ""])
            .ended(0)
            .says(cause)
            .says("`maybe` is neither yes nor no: type 1 for yes or 2 for no");
    }
}
