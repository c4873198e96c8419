//! Readings that the program asks about before it takes them.

use crate::place::{Place, as_format_1, of_kind, typed};
use crate::readings::{after_prompt, is_taken_as, place};
use insta::assert_snapshot;

#[test]
fn a_slip_of_the_decimal_point_is_asked_about_once_and_the_second_entry_stands() {
    // Common practice, no source: rests at 3.7 V; 0.37 V is first a question about the meter's range, then a fault.
    let place = place("between(3.5.V, 3.9.V)");
    let shown = place.at_vehicle(&["0.37", "0.37", ""]).ended(0).says("Wire open");
    assert_snapshot!(after_prompt(&shown), @r#"
    LIMITS   3.5 to 3.9 V
    Number, or * for OL   -- undo   // skip   .. more
    V > 0.37
    DOUBT    0.37 V? Expected about 3.7 V. Decimal slip, or wrong range?
    + keeps it, or type it again; V > 0.37
    LOW      0.37 V   (3.5 to 3.9 V)
             below by 3.1 V, meter ± 0.032 V (assumed meter)
    "#);
    let events = place.events();
    let doubts = of_kind(&events, "doubted");
    assert_eq!(doubts.len(), 1);
    assert_eq!((&doubts[0]["typed"], &doubts[0]["doubt"]), (&"0.37".into(), &"power_of_ten".into()));
    assert_eq!(typed(&events, "it"), ["0.37"]);
}

#[test]
fn plus_keeps_a_doubted_reading_and_another_one_replaces_it_and_is_looked_at_like_the_first() {
    for (second, stands, cause, doubts) in [
        (&["+"][..], "0.37", "Wire open", 1),
        (&["3.71"], "3.71", "Part worn", 1),
        // Enter alone only shows it again.
        (&["", "", "+"], "0.37", "Wire open", 1),
        (&["37", "+"], "37", "Wire open", 2),
        (&["37", "0.037", "3.71"], "3.71", "Part worn", 3),
        (&["49 V", "--", "", "+"], "49 V", "Wire open", 2),
    ] {
        let place = place("between(3.5.V, 3.9.V)");
        place.at_vehicle(&[&["0.37"], second, &[""]].concat()).ended(0).says(cause);
        let events = place.events();
        assert_eq!(of_kind(&events, "doubted")[0]["typed"], "0.37");
        assert_eq!(of_kind(&events, "doubted").len(), doubts, "after {second:?}");
        assert_eq!(typed(&events, "it"), [stands], "after {second:?}");
        place.call("verify --allow-unsigned").go().ended(0);
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
        ("at_most(12.V)", "120", "120 V? Is that V or mV? Type it with its unit", "120m"),
        ("between(12.2.V, 29.V)", "121", "This vehicle's system does not have that many volts", "12.6"),
        ("at_least(10.kohm).shown_in(\"ohm\")", "120.0", "Is that Ω or kΩ? Type it with its unit", "120k"),
    ] {
        place(limits).to_the_end(&[typed, then]).ended(0).says(question).says("Part worn");
        // Kept, it stands as it is; a voltage that can kill ends the run.
        let kept = place(limits);
        if limits.contains(".V") {
            kept.at_vehicle(&[typed, "+"]).ended(5).says("Hands and leads off");
        } else {
            kept.to_the_end(&[typed, "+"]).ended(0).says("Wire open");
        }
    }
    let body = "let it = lowest_highest(\"it\", \"Lamp\", between(11.5.V, 14.5.V), across(\"a\", \"b\"), moving(\"lamp\"));\n\
        if it.ok { conclude(\"part\"); }\nconclude(\"wire\");\n";
    for (typed, question) in [
        ("-12.5 -12.4", "The sign is not as expected. Red and black swapped?"),
        ("1.24 1.25", "Expected about 12.5 V"),
        ("12.4 121", "that many volts"),
    ] {
        let place = Place::with(body);
        place.to_the_end(&[typed, "12.4 12.6"]).ended(0).says(question).says("Part worn");
        place.call("verify --allow-unsigned").go().ended(0);
        // In a file it waits, until it is written twice.
        place.with_answers(&format!("it = \"{typed}\"")).ended(4).says(question);
        let twice = place.with_answers(&format!("it = \"{typed}; {typed}\""));
        if typed.ends_with("121") {
            twice.ended(5).says("shows a voltage that can kill");
        } else {
            twice.ended(0).says("Wire open");
        }
    }
    // A moment without contact is what is looked for.
    Place::with(body).to_the_end(&["0.12 12.6"]).ended(0).says("Wire open").never_says("Expected about");
    // Two numbers with one semicolon are the two.
    Place::with(body).with_answers("it = \"12.4; 12.6\"").ended(0).says("Part worn");
}

#[test]
fn the_sign_of_the_limits_reversed_suggests_swapped_leads() {
    let place = place("between(4.75.V, 5.25.V)");
    place
        .at_vehicle(&["-4.998", "4.998", ""])
        .ended(0)
        .says("The sign is not as expected. Red and black swapped?")
        .says("Part worn");
    let events = place.events();
    assert_eq!(of_kind(&events, "doubted")[0]["doubt"], "leads_swapped");
    assert_eq!(typed(&events, "it"), ["4.998"]);
}

#[test]
fn a_drop_of_the_wrong_sign_is_asked_about_before_it_passes_as_good() {
    let place = place("between(-1.V, 0.3.V)");
    place
        .to_the_end(&["-0.9", "0.9"])
        .ended(0)
        .says("The sign is not as expected. Red and black swapped?")
        .says("Wire open");
    assert_eq!(typed(&place.events(), "it"), ["0.9"]);
    is_taken_as("between(-1.V, 0.3.V)", "-0.2", "Part worn");
    let place = self::place("at_most(1.V)");
    place
        .to_the_end(&["-12.4", "+"])
        .ended(0)
        .says("The sign is not as expected. Red and black swapped?")
        .says("Part worn");
    assert_eq!(typed(&place.events(), "it"), ["-12.4"]);
    // A record from before this was asked comes out the same.
    let record = place.record();
    let journal = place.journal_of(&record);
    let text = std::fs::read_to_string(&journal).unwrap();
    let text = as_format_1(&text);
    let older: String =
        text.lines().filter(|line| !line.contains("\"doubted\"")).map(|line| format!("{line}\n")).collect();
    assert_ne!(text, older);
    for text in [text, older] {
        std::fs::write(&journal, text).unwrap();
        place.call("verify --allow-unsigned").and(&[&record]).go().ended(0);
    }
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
    place.at_vehicle(&["0.15", "150", ""]).ended(0).says("Is that mV or V?").says("Part worn");
    assert_eq!(typed(&place.events(), "it"), ["150"]);
    is_taken_as("at_most(200.mV)", "0.15 V", "Part worn");
    is_taken_as("at_most(200.mV)", "150", "Part worn");
}
