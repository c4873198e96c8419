//! Readings as people type them off a meter, at the vehicle and in files.

use crate::place::{LET_STAND, Place, Shown, events, of_kind, typed};
use insta::assert_snapshot;

/// One reading with these limits, its standing told by the cause.
fn place(limits: &str) -> Place {
    Place::with(&format!(
        "let it = read(\"it\", \"Measure it\", {limits}, across(\"signal\", \"ground\"));\nif it.ok {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"
    ))
}

/// What is printed from the prompt's unit on.
fn after_prompt(shown: &Shown) -> String {
    let from = shown.out.find("  should be").unwrap_or_else(|| panic!("{shown}"));
    let to = shown.out[from..].find("\n────").map_or(shown.out.len(), |end| from + end);
    shown.out[from..to].trim_end().to_owned()
}

#[track_caller]
fn is_taken_as(limits: &str, text: &str, cause: &str) {
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
    place.with_answers("it = \"OL\"").ended(5).says("`it` shows OL, which says nothing of the circuit");
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
            "4,998", "abc", "", "12 A", "12 volts", "1.2.3", "1e999", "5 V 6 V", "NaN", "inf", "--5", "5.01", "",
        ])
        .ended(0);
    assert_snapshot!(after_prompt(&shown), @"
      should be 4.75 … 5.25 V
    V > 4,998
      `4,998` can be read as 4.998 or as 4998: type it with a point, or without
      the comma
    V > abc
      `abc` is not a reading: type the number that the meter shows, such as 4.998 V
    V > 
      nothing was typed: type the reading, or `skip` and why

    Measure it
      meter on volts DC
    ┌───────┬────────┐
    │ lead  ┆ to     │
    ╞═══════╪════════╡
    │ red   ┆ signal │
    │ black ┆ ground │
    └───────┴────────┘
      should be 4.75 … 5.25 V
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
      5.01 V: in
    ");
    assert_eq!(typed(&place.events(), "it"), ["5.01"]);
}

#[test]
fn a_slip_of_the_decimal_point_is_asked_about_once_and_the_second_entry_stands() {
    // Common practice, no source: rests at 3.7 V; 0.37 V is first a question about the meter's range, then a fault.
    let place = place("between(3.5.V, 3.9.V)");
    let shown = place.at_vehicle(&["0.37", "0.37", ""]).ended(0).says("Wire open");
    assert_snapshot!(after_prompt(&shown), @r#"
      should be 3.5 … 3.9 V
    V > 0.37
      0.37 V: 3.7 V would be right: is the decimal point or the meter's range wrong?
    Enter keeps it, or type it again; V > 0.37
      0.37 V: LOW
    "#);
    let events = place.events();
    let doubts = of_kind(&events, "doubted");
    assert_eq!(doubts.len(), 1);
    assert_eq!((&doubts[0]["typed"], &doubts[0]["doubt"]), (&"0.37".into(), &"power_of_ten".into()));
    assert_eq!(typed(&events, "it"), ["0.37"]);
}

#[test]
fn enter_keeps_a_doubted_reading_and_another_one_replaces_it() {
    for (second, stands, cause) in [("", "0.37", "Wire open"), ("3.71", "3.71", "Part worn"), ("37", "37", "Wire open")]
    {
        let place = place("between(3.5.V, 3.9.V)");
        place.at_vehicle(&["0.37", second, ""]).ended(0).says(cause);
        let events = place.events();
        assert_eq!(of_kind(&events, "doubted")[0]["typed"], "0.37");
        assert_eq!(typed(&events, "it"), [stands], "after {second:?}");
    }
}

#[test]
fn at_a_doubt_the_plain_words_work_and_nonsense_is_asked_again() {
    let place = place("between(3.5.V, 3.9.V)");
    place
        .at_vehicle(&["0.37", "help", "note range was on auto", "rubbish", "3,7", ""])
        .ended(0)
        .says("range was on auto");
    assert_eq!(typed(&place.events(), "it"), ["3,7"]);
    let place = self::place("between(3.5.V, 3.9.V)");
    place
        .at_vehicle(&["0.37", "skip meter is flat", "2"])
        .ended(5)
        .says("`it` was skipped, and the procedure needs it (meter is flat)");
}

#[test]
fn a_reading_in_wide_limits_is_not_doubted_for_its_decimal_point() {
    is_taken_as("between(0.3.V, 4.7.V)", "0.05", "Wire open");
    is_taken_as("at_most(12.V)", "13.5", "Wire open");
}

#[test]
fn what_no_vehicle_has_is_asked_about_and_so_are_thousandths_and_a_lowest_with_its_highest() {
    for (limits, typed, question, then) in [
        ("at_most(12.V)", "120", "120 V: is that V or mV? Type it with its unit", "120m"),
        ("between(12.2.V, 29.V)", "121", "no 12 V or 24 V circuit shows that many volts", "12.6"),
        ("at_least(10.kohm).shown_in(\"ohm\")", "120.0", "is that Ω or kΩ? Type it with its unit", "120k"),
    ] {
        place(limits).to_the_end(&[typed, then]).ended(0).says(question).says("Part worn");
        // Kept, it stands as it is.
        place(limits).to_the_end(&[typed, ""]).ended(0).says("Wire open");
    }
    let body = "let it = lowest_highest(\"it\", \"Lamp\", between(11.5.V, 14.5.V), across(\"a\", \"b\"), moving(\"lamp\"));\n\
        if it.ok { conclude(\"part\"); }\nconclude(\"wire\");\n";
    for (typed, question) in [
        ("-12.5 -12.4", "are the leads swapped?"),
        ("1.24 1.25", "12.5 V would be right"),
        ("12.4 121", "that many volts"),
    ] {
        let place = Place::with(body);
        place.to_the_end(&[typed, "12.4 12.6"]).ended(0).says(question).says("Part worn");
        place.call("verify --allow-unsigned").go().ended(0);
        // In a file it waits, until it is written twice.
        place.with_answers(&format!("it = \"{typed}\"")).ended(4).says(question);
        place.with_answers(&format!("it = \"{typed}; {typed}\"")).ended(0).says("Wire open");
    }
    // A moment without contact is what is looked for.
    Place::with(body).to_the_end(&["0.12 12.6"]).ended(0).says("Wire open").never_says("would be right");
    // Two numbers with one semicolon are the two.
    Place::with(body).with_answers("it = \"12.4; 12.6\"").ended(0).says("Part worn");
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
fn the_sign_of_the_limits_reversed_suggests_swapped_leads() {
    let place = place("between(4.75.V, 5.25.V)");
    place.at_vehicle(&["-4.998", "4.998", ""]).ended(0).says("are the leads swapped?").says("Part worn");
    let events = place.events();
    assert_eq!(of_kind(&events, "doubted")[0]["doubt"], "leads_swapped");
    assert_eq!(typed(&events, "it"), ["4.998"]);
}

#[test]
fn a_drop_of_the_wrong_sign_is_asked_about_before_it_passes_as_good() {
    let place = place("between(-1.V, 0.3.V)");
    place.to_the_end(&["-0.9", "0.9"]).ended(0).says("are the leads swapped?").says("Wire open");
    assert_eq!(typed(&place.events(), "it"), ["0.9"]);
    is_taken_as("between(-1.V, 0.3.V)", "-0.2", "Part worn");
    let place = self::place("at_most(1.V)");
    place.to_the_end(&["-12.4", ""]).ended(0).says("are the leads swapped?").says("Part worn");
    assert_eq!(typed(&place.events(), "it"), ["-12.4"]);
    // A record from before this was asked comes out the same.
    let record = place.record();
    let journal = place.journal_of(&record);
    let text = std::fs::read_to_string(&journal).unwrap();
    let older: String =
        text.lines().filter(|line| !line.contains("\"doubted\"")).map(|line| format!("{line}\n")).collect();
    assert_ne!(text, older);
    for text in [text, older] {
        std::fs::write(&journal, text).unwrap();
        place.call("verify --allow-unsigned").and(&[&record]).go().ended(0);
    }
}

#[test]
fn limits_are_shown_in_the_unit_that_the_author_names() {
    let place = place("between(-0.3.V, 0.3.V).shown_in(\"V\")");
    place.to_the_end(&["0.2"]).ended(0).says("-0.3 … 0.3 V").says("Part worn");
    assert_eq!(typed(&place.events(), "it"), ["0.2"]);
    let place = self::place("between(-0.3.V, 0.3.V).shown_in(\"ohm\")");
    place.at_vehicle(&[]).ended(3).says("can't be shown in Ω");
}

#[test]
fn a_reading_in_another_quantity_suggests_the_meter_is_on_the_wrong_function() {
    let place = place("between(20.ohm, 30.ohm)");
    place
        .at_vehicle(&["4.9 V", "25", ""])
        .ended(0)
        .says("`4.9 V` is volts, but ohms were asked for: is the meter on the wrong function?");
    assert_eq!(typed(&place.events(), "it"), ["25"]);
}

#[test]
fn a_bare_number_that_fits_two_units_is_asked_about() {
    let place = place("at_most(200.mV)");
    place.at_vehicle(&["0.15", "150", ""]).ended(0).says("is that mV or V?").says("Part worn");
    assert_eq!(typed(&place.events(), "it"), ["150"]);
    is_taken_as("at_most(200.mV)", "0.15 V", "Part worn");
    is_taken_as("at_most(200.mV)", "150", "Part worn");
}

const SHOP: &str = "name = \"Test shop\"\n[[meter]]\nid = \"bench\"\nname = \"Bench meter\"\ncalibration_due = \"DUE\"\n\
    [[meter.range]]\nfunction = \"volts\"\nfull_scale = \"6 V\"\nresolution = \"1 mV\"\npercent = 0.5\ncounts = 3.0\n";

fn with_meter(due: &str) -> Place {
    let place = place("between(4.75.V, 5.25.V)");
    place.file("shop.toml", SHOP.replace("DUE", due));
    place
}

fn measured(place: &Place, meter: &[&str], lines: &[&str]) -> Shown {
    place.run_at_vehicle(&crate::place::SAFE).and(meter).typing(lines).typing(&LET_STAND).go()
}

#[test]
fn a_reading_nearer_to_its_limit_than_the_meter_can_tell_is_unsure_and_is_offered_again() {
    // ±(0.5 % of 4.76 V + 3 mV) is ±26.8 mV, and the limit is 10 mV away.
    let place = with_meter("2027-03-31");
    measured(&place, &["--meter", "bench"], &["4.76", "4.76"])
        .ended(0)
        .says("nearer to the limit than the meter can tell");
    let events = place.events();
    assert_eq!(of_kind(&events, "doubted")[0]["doubt"], "unsure");
    assert_eq!(of_kind(&events, "answered")[0]["verdict"]["how"], "unsure");
    let place = with_meter("2027-03-31");
    measured(&place, &["--meter", "bench"], &["5.00"]).ended(0);
    assert_eq!(of_kind(&place.events(), "answered")[0]["verdict"]["how"], "sure");
}

#[test]
fn past_its_calibration_or_without_a_meter_nobody_knows_how_sure() {
    for (due, flags, why) in
        [("2026-11-23", &["--meter", "bench"][..], "calibration_past"), ("2027-03-31", &[][..], "no_meter")]
    {
        let place = with_meter(due);
        measured(&place, flags, if flags.is_empty() { &["", "4.76"] } else { &["4.76"] });
        let events = place.events();
        let verdict = &of_kind(&events, "answered")[0]["verdict"];
        assert_eq!((&verdict["how"], &verdict["why"]), (&"unknown".into(), &why.into()));
        place.call("show").go().ended(0).says("how sure");
    }
    let place = with_meter("2026-11-24");
    measured(&place, &["--meter", "bench"], &["5.00"]).ended(0);
    assert_eq!(of_kind(&place.events(), "answered")[0]["verdict"]["how"], "sure", "good on its last day");
}

#[test]
fn an_unknown_meter_and_a_wrong_date_are_refused_before_the_run() {
    let place = with_meter("2027-03-31");
    assert_snapshot!(measured(&place, &["--meter", "bnech"], &[]).ended(2), @r#"
    exit 2
    --- stderr
    error: the shop has no meter `bnech`; did you mean `bench`?
    help: meters stand in shop.toml under [[meter]]
    "#);
    let place = with_meter("31.3.2027");
    assert_snapshot!(measured(&place, &["--meter", "bench"], &[]).ended(3), @r#"
    exit 3
    --- stderr
    error: `31.3.2027` is no date
      ╭▸ [folder]/shop.toml:5:19
      │
    5 │ calibration_due = "31.3.2027"
      │                   ━━━━━━━━━━━
      ╰╴
    help: write it as 2027-03-31
    "#);
}

const SWEEP: &str = "let track = sweep(\"track\", \"Turn the shaft slowly\", ends(0.7.V, 4.0.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    if track.stuck { conclude(\"part\"); }\nif track.follows { conclude(\"not_present\"); }\nconclude(\"wire\");\n";

#[test]
fn a_sweep_is_taken_reading_by_reading_with_its_turns() {
    let place = Place::with(SWEEP);
    let shown = place
        .at_vehicle(&["0.7", "1.9 @ half", "4.0", "2.0", "0.72", "", ""])
        .ended(0)
        .says("Not present while tested");
    assert_snapshot!(after_prompt(&shown), @r#"
      should be 0.7 … 4 (ends ± 0.33) V
      move: shaft; one reading a line, or all with spaces between; Enter alone ends
    1 V > 0.7
    2 V > 1.9 @ half
    3 V > 4.0
    4 V > 2.0
      turned
    5 V > 0.72
    6 V > 
      follows, 0.7 V … 4.0 V, turns at reading 3
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
        place.to_the_end(lines).ended(0).says("Not present while tested");
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
    Place::with(body).at_vehicle(&["4.91 5.02", ""]).ended(0).says("Not present");
    Place::with(body).at_vehicle(&["0.2 V 5.02 V", ""]).ended(0).says("Wire open");
    Place::with(body)
        .at_vehicle(&["5.02 4.91", "5.0", "1 2 3", "4.9 x", "4.9 5.0", ""])
        .ended(0)
        .says("is above the highest")
        .says("Not present");
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
    assert_eq!(shown.count("take the last answer back"), 11, "{shown}");
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
    // Job: eight times Enter or numbers; state: 1 off, 1 stopped, 20 min ago, 2 raised, 1 chocked, 1 connected, 1 absent.
    let keys = [
        "12", "", "", "", "", "", "1", "1", "20", "2", "1", "1", "1", "+", "+", "+", "", "12.6", "+", "*", "1", "2",
        "0.7", "2.4", "4.0", "",
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

#[test]
fn what_is_typed_moves_no_cursor_and_turns_no_line_around() {
    let place = Place::with("let n = note(\"n\", \"What?\");\nconclude(\"wire\");\n");
    place.at_vehicle(&["\u{1b}[2Jred \u{202e}evil\u{7}", ""]).ended(0);
    let shown = place.call("show").coloured().go().ended(0).says("evil");
    assert!(!shown.out.contains(['\u{1b}', '\u{202e}', '\u{7}']), "{:?}", shown.out);
}

#[test]
fn in_a_file_a_reading_is_a_text_or_a_number_and_a_doubt_needs_its_confirmation() {
    let place = place("between(3.5.V, 3.9.V)");
    for (answer, code, words) in [
        ("it = \"3.7\"", 0, "Part worn"),
        ("it = 3.7", 0, "Part worn"),
        ("it = \"0.37\"", 4, "is the decimal point or the meter's range wrong?"),
        ("it = [\"0.37\", \"0.37\"]", 0, "Wire open"),
        ("it = [\"0.37\", \"3.7\"]", 0, "Part worn"),
        ("it = \"0.37; 0.37\"", 0, "Wire open"),
        ("it = \"3,700\"", 4, "`3,700` can be read as 3.700 or as 3700"),
        ("it = \"xyz\"", 4, "`xyz` is not a reading"),
        ("it = \"\"", 4, "nothing was typed"),
        ("it = true", 4, "`yes` is not a reading"),
        ("it = nan", 4, "is not a reading"),
        ("it = { skip = \"\" }", 4, "say why it is skipped"),
        ("it = \"skip no light\"", 5, "`it` was skipped, and the procedure needs it (no light)"),
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
    error: `of` is none of the words that can stand here
      ╭▸ answers.toml:3:7
      │
    3 │ key = "of"
      │       ━━━━
      ╰╴
    help: here can stand off, accessory, on or unknown
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

#[test]
fn figures_that_no_meter_has_are_refused_before_the_run() {
    let range = |figures: &str| {
        format!(
            "[[meter]]\nid = \"red\"\nname = \"Red\"\nrange = [{{ function = \"volts\", full_scale = \"60 V\", {figures} }}]\n"
        )
    };
    let person =
        |more: &str| format!("[[role]]\nname = \"lead\"\nmay_sign = []\n[[person]]\nname = \"Ana Example\"\n{more}\n");
    let figures = |figures: &str, title: &str| (range(figures), title.to_owned());
    let cases = [
        figures(
            "resolution = \"10 mV\", percent = -0.5, counts = 3",
            "an accuracy can't be -0.5 percent of the reading",
        ),
        figures("resolution = \"10 mV\", percent = nan, counts = 3", "an accuracy can't be NaN percent of the reading"),
        figures("resolution = \"10 mV\", percent = 0.5, counts = -3", "an accuracy can't be -3 counts"),
        figures(
            "resolution = \"-10 mV\", percent = 0.5, counts = 3",
            "has volts above zero as its resolution, not -10 mV",
        ),
        figures(
            "resolution = \"10 ohm\", percent = 0.5, counts = 3",
            "has volts above zero as its resolution, not 10 Ω",
        ),
        figures(
            "resolution = \"100 V\", percent = 0.5, counts = 3",
            "one count can't be 100 V on a range that ends at 60 V",
        ),
        (
            range("resolution = \"1 V\", percent = 1, counts = 1").replace("60 V", "60 A"),
            "as its full scale, not 60 A".to_owned(),
        ),
        (
            "[[meter]]\nid = \"a\"\nname = \"A\"\n[[meter]]\nid = \"a\"\nname = \"B\"\n".to_owned(),
            "the meter `a` is there twice".to_owned(),
        ),
        (
            "[[meter]]\nid = \"a\"\nname = \"A\"\ninput_resistance = \"0 ohm\"\n".to_owned(),
            "is no input resistance".to_owned(),
        ),
        (
            person("role = \"laed\""),
            "Ana Example has the role `laed`, which stands under no [[role]]; did you mean `lead`?".to_owned(),
        ),
        (
            person("from = \"2026-05-01\"\nuntil = \"2026-04-30\""),
            "counts until 2026-04-30, which is before 2026-05-01".to_owned(),
        ),
        (person("until = \"30.4.2026\""), "`30.4.2026` is no date".to_owned()),
    ];
    for (shop, title) in cases {
        let place = Place::with("conclude(\"wire\");");
        place.file("shop.toml", shop);
        for command in ["list", "run p.rhai"] {
            place.call(command).width(200).go().ended(3).says(&title).says("shop.toml:").says("help: ");
        }
    }
    let place = Place::with("conclude(\"wire\");");
    place.file("shop.toml", range("resolution = \"10 mV\", percent = 0.5, counts = -3"));
    assert_snapshot!(place.call("list").go(), @r#"
    exit 3
    --- stderr
    error: an accuracy can't be -3 counts
      ╭▸ [folder]/shop.toml:4:99
      │
    4 │ … = "10 mV", percent = 0.5, counts = -3 }]
      │                                      ━━
      ╰╴
    help: write what the meter's maker promises, without a sign: 3 for ±3 counts
    "#);
    place.file("shop.toml", range("resolution = \"10 mV\", percent = 0, counts = 0"));
    place.call("list").go().ended(0);
}

#[test]
fn a_meter_without_a_calibration_date_is_not_said_to_be_past_it() {
    let place = with_meter("2027-03-31");
    let dated = place.read("shop.toml");
    place.file("shop.toml", dated.replace("calibration_due = \"2027-03-31\"\n", ""));
    measured(&place, &["--meter", "bench"], &["4.76"]);
    let verdict = of_kind(&place.events(), "answered")[0]["verdict"].clone();
    assert_eq!((&verdict["how"], &verdict["why"]), (&"unknown".into(), &"no_calibration_date".into()));
    let record = place.record();
    let report = place.call("report --format text").go().ended(0);
    report.says("how sure is not known: the meter has no").never_says("past its date");
    // Older records have the other word for it, and are none the worse.
    let journal = place.journal_of(&record);
    let text = std::fs::read_to_string(&journal).unwrap().replace("no_calibration_date", "calibration_past");
    std::fs::write(&journal, text).unwrap();
    place.call("verify --allow-unsigned").go().ended(0).says("same 1 verdict");
}
