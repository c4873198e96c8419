//! Readings as people type them off a meter, at the vehicle and in files.

use crate::place::{Place, Shown, events, of_kind, typed};
use insta::assert_snapshot;

/// One reading with these limits, its standing told by the cause.
pub fn place(limits: &str) -> Place {
    Place::with(&format!(
        "let it = read(\"it\", \"Measure it\", {limits}, across(\"signal\", \"ground\"));\nif it.ok {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"
    ))
}

/// What is printed from the prompt's unit on.
pub fn after_prompt(shown: &Shown) -> String {
    let from = shown.out.find("LIMITS ").unwrap_or_else(|| panic!("{shown}"));
    let to = shown.out[from..].find("\n── result").map_or(shown.out.len(), |end| from + end);
    shown.out[from..to].lines().map(str::trim_end).collect::<Vec<_>>().join("\n").trim_end().to_owned()
}

#[track_caller]
pub fn is_taken_as(limits: &str, text: &str, cause: &str) {
    let place = place(limits);
    let shown = place.at_vehicle(&[text, ""]).ended(0).says(cause);
    let events = place.events();
    assert_eq!(typed(&events, "it"), [text.trim()], "{shown}");
    assert_eq!(of_kind(&events, "doubted").len(), 0, "{shown}");
}

#[test]
fn every_form_that_people_type_is_taken_and_kept_as_it_was_typed() {
    const GOOD: &str = "Part worn";
    // Common practice, no source: 4.998 V between reference and sensor ground is good.
    for text in ["4.998", "4,99", "4.998 V", "4998m", "4998 mV", "4998mV", "+4.998", " 4.998 ", "4.998e0", "5"] {
        is_taken_as("between(4.75.V, 5.25.V)", text, GOOD);
    }
    for text in ["370m", "370 mV", ".37", "0.37", "0,370", "0.37V"] {
        is_taken_as("between(0.3.V, 1.2.V)", text, GOOD);
    }
    for text in ["-0.02", "−0.02", "-20m", "-20 mV"] {
        is_taken_as("between(-0.1.V, 2.V)", text, GOOD);
    }
    for text in ["1.2M", "1.2 Mohm", "1.2 MΩ", "1200k", "1M2"] {
        is_taken_as("between(1.Mohm, 2.Mohm)", text, GOOD);
    }
}

#[test]
fn over_range_is_open_on_ohms_only() {
    let body = "let it = read(\"it\", \"Measure it\", between(20.ohm, 30.ohm));\nif it.open { conclude(\"wire\"); }\nconclude(\"part\");\n";
    for text in ["OL", "ol", "O.L", "0L", "*", "OL MΩ"] {
        let place = Place::with(body);
        place.at_vehicle(&[text, ""]).ended(0).says("Wire open");
        assert_eq!(typed(&place.events(), "it"), [text]);
    }
    let body = "let it = read(\"it\", \"Measure it\", between(20.V, 30.V));\nif it.open { conclude(\"part\"); }\nif it.over_range { conclude(\"wire\"); }\n";
    Place::with(body).at_vehicle(&["OL", ""]).ended(0).says("Wire open");
    // Insulation: more than the meter can show is more than enough.
    is_taken_as("at_least(1.Mohm)", "OL", "Part worn");
}

#[test]
fn what_no_script_asks_of_ol_condemns_nothing() {
    let body =
        "let it = read(\"it\", \"Feed\", at_least(11.5.V));\nif it.low { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    place.with_answers("it = \"OL\"").ended(5).says("“Feed” shows OL, which says nothing of the circuit");
    // At the vehicle it can be given again.
    place.to_the_end(&["OL", "1", "12.4"]).ended(0).says("Part worn");
    // A script that asks goes on as it likes.
    let asks = body.replace("if it.low", "if it.over_range || it.low");
    Place::with(&asks).with_answers("it = \"OL\"").ended(0).says("Wire open");
    // An open circuit has more ohms than any limit, and fewer than none.
    for (side, cause) in [("high", "Wire open"), ("low", "Part worn"), ("ok", "Part worn"), ("open", "Wire open")] {
        let body = format!(
            "let it = read(\"it\", \"Wire\", at_most(5.ohm));\nif it.{side} {{ conclude(\"wire\"); }}\nconclude(\"part\");\n"
        );
        let place = Place::with(&body);
        place.with_answers("it = \"OL\"").ended(0).says(cause);
        assert_eq!(of_kind(&place.events(), "answered")[0]["verdict"]["standing"], "open");
        place.call("verify --allow-unsigned").go().ended(0);
    }
}

#[test]
fn a_reading_that_goes_to_and_fro_is_neither_inside_nor_outside() {
    let read = "let it = read(\"it\", \"Coil\", between(9.V, 13.V), across(\"signal\", \"ground\"));\n";
    let sides = "if it.ok || it.low || it.high || it.over_range { conclude(\"part\"); }\nconclude(\"wire\");\n";
    for text in ["9.1 … 12.3", "9.1...12.3", "9.1 V … 12.3 V", "9100 … 12300 mV"] {
        let place = Place::with(&format!("{read}{sides}"));
        place.at_vehicle(&[text, ""]).ended(0).says("Wire open").says("UNSTEADY");
        let events = place.events();
        assert_eq!(typed(&events, "it"), [text]);
        assert_eq!(of_kind(&events, "answered")[0]["verdict"]["standing"], "unsteady");
        place.call("verify --allow-unsigned").go().ended(0);
        place.call("show").go().ended(0).says(" … ");
        place.call("rejudge").and(&[&place.record(), "--with", "p.rhai"]).go().ended(0);
    }
    // Where a value is needed the run ends, unless the script asked.
    let needs = format!("{read}meter::on_scale(it);\n{sides}");
    let with_library = |body: &str| {
        let place = Place::with(body);
        let header =
            place.read("p.rhai").replacen("//! revision = 1\n", "//! revision = 1\n//! uses = [\"meter\"]\n", 1);
        place.file("p.rhai", header);
        place
    };
    let ends = "“Coil” does not rest, and the procedure needs a steady value";
    with_library(&needs).with_answers("it = \"9.1 … 12.3\"").ended(5).says(ends);
    let asked = format!("{read}if it.unsteady {{ conclude(\"wire\"); }}\n{sides}");
    Place::with(&asked).with_answers("it = \"9.1 … 12.3\"").ended(0).says("Wire open");
    let asked_first = format!("{read}let restless = it.unsteady;\nmeter::on_scale(it);\n{sides}");
    with_library(&asked_first).with_answers("it = \"9.1 … 12.3\"").ended(0).says("Wire open");
    let value = format!("{read}if it.value > 5.V {{ conclude(\"part\"); }}\n");
    let place = Place::with(&value);
    place.with_answers("it = \"9.1 … 12.3\"").ended(5).says(ends);
    let place = Place::with(&value);
    place.at_vehicle(&["9.1 … 12.3", "1", "12.4", ""]).ended(0).says("Part worn");
    // No range.
    for text in ["12.3 … 9.1", "9.1 …", "… 12.3", "OL … 12.3", "9.1 … OL"] {
        let place = Place::with(&format!("{read}{sides}"));
        place.at_vehicle(&[text, "10", ""]).ended(0).says("Part worn");
        assert_eq!(typed(&place.events(), "it"), ["10"], "{text}");
    }
}

#[test]
fn over_range_has_no_value() {
    let body = "let it = read(\"it\", \"Measure it\", between(20.ohm, 30.ohm));\nif it.value > 5.ohm { conclude(\"wire\"); }\n";
    let place = Place::with(body);
    place.at_vehicle(&["*", "2"]).ended(5).says("`it` shows OL, and the procedure needs its value");
    // Nobody is there to give another one: the procedure should have asked.
    let place = Place::with(body);
    place
        .with_answers("it = \"OL\"\n")
        .ended(3)
        .says("`it` shows OL and has no value: look at `.open` or `.over_range` first");
}

#[test]
fn what_can_not_be_taken_says_why_and_asks_again() {
    let place = place("between(4.75.V, 5.25.V)");
    let shown = place
        .at_vehicle(&[
            "4,998", "", "abc", "", "12 A", "12 volts", "1.2.3", "1e999", "5 V 6 V", "NaN", "inf", "--5", "5.01", "",
        ])
        .ended(0);
    assert_snapshot!(after_prompt(&shown), @"
    LIMITS   4.75 to 5.25 V
    Number, or * for OL   -- undo   // skip   .. more
    V > 4,998
      4,998 can be read in two ways. The answer counts for the whole run.
    1 it is 4.998, 2 it is 4998 >
      4,998 was not taken. Type it again.
    V > abc
      `abc` is not a reading: type the number that the meter shows, such as 4.998 V
    V >
    ── it ──────────────────────────────────────────────────────────────────────────
    READ     Measure it
    STATE    key off
    RED      signal
    BLACK    ground
    METER    DC volts       LIMITS   4.75 to 5.25 V
    Number, or * for OL   -- undo   // skip   .. more
    V > 12 A
      `12 A` is amperes, but volts were asked for: is the meter on the wrong
      function?
    V > 12 volts
      `volts` is not a unit that a meter shows: type the number alone for V, or the
      number and its unit
    V > 1.2.3
      `1.2.3` is not a reading: type the number that the meter shows, such as 4.998
      V
    V > 1e999
      `1e999` is not a reading: type the number that the meter shows, such as 4.998
      V
    V > 5 V 6 V
      `V 6 V` is not a unit that a meter shows: type the number alone for V, or the
      number and its unit
    V > NaN
      `NaN` is not a reading: type the number that the meter shows, such as 4.998 V
    V > inf
      `inf` is not a reading: type the number that the meter shows, such as 4.998 V
    V > --5
      `--5` is not a reading: type the number that the meter shows, such as 4.998 V
    V > 5.01
    OK       5.01 V   (4.75 to 5.25 V)
    ");
    assert_eq!(typed(&place.events(), "it"), ["5.01"]);
}

#[test]
fn a_lowest_or_highest_on_its_limit_is_beyond_neither_end() {
    // 0.7 + 0.1 is a last bit below 0.8, and 8.2 - 0.1 one above 8.1.
    for (limits, typed) in [("within(0.7.V, 0.1.V)", "700 mV 800 mV"), ("within(8.2.V, 0.1.V)", "8.1 8.3")] {
        let place = Place::with(&format!(
            "let it = lowest_highest(\"it\", \"Lamp\", {limits}, across(\"a\", \"b\"), moving(\"lamp\"));\n\
             if it.low || it.high {{ conclude(\"wire\"); }}\nif it.ok {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"
        ));
        place.with_answers(&format!("it = \"{typed}\"")).ended(0).says("Part worn");
    }
}

#[test]
fn limits_are_shown_in_the_unit_that_the_author_names() {
    let place = place("between(-0.3.V, 0.3.V).shown_in(\"V\")");
    place.to_the_end(&["0.2"]).ended(0).says("-0.3 to 0.3 V").says("Part worn");
    assert_eq!(typed(&place.events(), "it"), ["0.2"]);
    let place = self::place("between(-0.3.V, 0.3.V).shown_in(\"ohm\")");
    place.at_vehicle(&[]).ended(3).says("can't be shown in Ω");
}

#[test]
fn what_is_typed_moves_no_cursor_and_turns_no_line_around() {
    let place = Place::with("let n = note(\"n\", \"What?\");\nconclude(\"wire\");\n");
    place.at_vehicle(&["\u{1b}[2Jred \u{202e}evil\u{7}", ""]).ended(0);
    let shown = place.call("show").colored().go().ended(0).says("evil");
    assert!(!shown.out.contains(['\u{1b}', '\u{202e}', '\u{7}']), "{:?}", shown.out);
}

#[test]
fn in_a_file_a_reading_is_a_text_or_a_number_and_a_doubt_needs_its_confirmation() {
    let place = place("between(3.5.V, 3.9.V)");
    for (answer, code, words) in [
        ("it = \"3.7\"", 0, "Part worn"),
        ("it = 3.7", 0, "Part worn"),
        ("it = \"0.37\"", 4, "Decimal slip, or wrong range?"),
        ("it = [\"0.37\", \"0.37\"]", 0, "Wire open"),
        ("it = [\"0.37\", \"3.7\"]", 0, "Part worn"),
        ("it = \"0.37; 0.37\"", 0, "Wire open"),
        ("it = \"3,700\"", 4, "`3,700` can be read as 3.700 or as 3700"),
        ("it = \"xyz\"", 4, "`xyz` is not a reading"),
        ("it = \"\"", 4, "nothing was typed"),
        ("it = true", 4, "`yes` is not a reading"),
        ("it = nan", 4, "is not a reading"),
        ("it = { skip = \"\" }", 4, "say why it is skipped"),
        ("it = \"skip no light\"", 5, "“Measure it” was skipped, and the procedure needs it (no light)"),
        ("it = [\"5\", { skip = \"no light\" }]", 3, "the list for `it` has more in it than readings"),
        ("it = []", 4, "Waits for `it`"),
        ("", 4, "Waits for `it`"),
    ] {
        let shown = place.with_answers(answer);
        assert!(shown.code == code && shown.flat().contains(words), "{answer}: {words}\n{shown}");
    }
}

#[test]
fn an_answers_file_says_which_procedure_it_is_for() {
    let place = place("between(3.5.V, 3.9.V)");
    place.file("answers.toml", "# for another one\nprocedure = \"q\"\n[answers]\nit = \"3.7\"\n");
    let run = || place.call("run p.rhai --answers answers.toml").go().ended(3);
    assert_snapshot!(run(), @r#"
    exit 3
    --- stderr
    error: these answers are for the procedure `q`, not for `p`
      ╭▸ answers.toml:2:13
      │
    2 │ procedure = "q"
      │             ━━━
      ╰╴
    help: run `q`, or give answers for `p`
    "#);
    place.file("answers.toml", "procedure = \"p\"\n[anwsers]\nit = \"3.7\"\n");
    assert_snapshot!(run(), @"
    exit 3
    --- stderr
    error: nothing is called `anwsers` here
      ╭▸ answers.toml:2:2
      │
    2 │ [anwsers]
      │  ━━━━━━━
      ╰╴
    help: did you mean `answers`?
    ");
    place.file("answers.toml", "procedure = \"p\"\n[answers]\nit = 3.7.1\n");
    assert_snapshot!(run(), @r#"
    exit 3
    --- stderr
    error: invalid float, expected nothing
      ╭▸ answers.toml:3:9
      │
    3 │ it = 3.7.1
      ╰╴        ━━
    "#);
    place.file("answers.toml", "procedure = \"p\"\n[vehicle]\nkey = \"of\"\n[answers]\n");
    assert_snapshot!(run(), @r#"
    exit 3
    --- stderr
    error: `of` is not one of the words allowed here
      ╭▸ answers.toml:3:7
      │
    3 │ key = "of"
      │       ━━━━
      ╰╴
    help: use off, accessory, on or unknown
    "#);
    place.file("answers.toml", b"procedure = \"p\"\n\xff\xfe");
    place.call("run p.rhai --answers answers.toml").go().ended(3).says("not UTF-8 text");
    place.call("run p.rhai --answers nowhere.toml").go().ended(7).says("nowhere.toml");
    assert_eq!(place.records(), Vec::<String>::new());
}

#[test]
fn the_journal_keeps_the_text_that_was_typed() {
    let place = place("between(4.75.V, 5.25.V)");
    place.at_vehicle(&["  4,9980 V  ", ""]).ended(0);
    let journal = std::fs::read_to_string(place.journal_of(&place.record())).unwrap();
    assert!(journal.contains("\"typed\":\"4,9980 V\""), "{journal}");
    assert_eq!(events(&journal).len(), journal.lines().count());
}
