//! The keys of a numeric pad, at every kind of prompt.

use crate::place::{LET_STAND, Place, SAFE, of_kind, typed};

const BODY: &str = "step(\"First\");\nwhy(\"Because.\");\nkey_on();\n\
    let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nlet b = read(\"b\", \"Drop\", between(-0.2.V, 0.2.V).shown_in(\"V\"));\n\
    let seen = ask(\"seen\", \"Is it clean?\");\n\
    if a.skipped || seen.no { conclude(\"part\"); }\nconclude(\"wire\");\n";

#[test]
fn undo_names_the_answer_and_only_plus_carries_it_out() {
    let place = Place::with(BODY);
    let lines = ["--", "", "18", "--", "", "--", "+", "12.6", "0.05", "--", "1", "0.06", "1"];
    let shown = place.to_the_end(&[&lines[..], &[]].concat());
    shown
        .says("There is no answer yet that could be undone.")
        .says("Undo Supply: 18 V (a)?")
        .says("Nothing was undone.");
    let events = place.events();
    assert_eq!(typed(&events, "a"), ["18", "12.6"]);
    assert_eq!(of_kind(&events, "struck").len(), 1);
}

#[test]
fn skipping_asks_for_a_reason_by_number_and_records_it() {
    for (lines, reason) in [
        (&["//", "1"][..], "can't reach"),
        (&["//", "", "//", "9", "4"], "meter can't"),
        (&["//", "5", "no room"], "no room"),
        (&["//", "the boot is torn"], "the boot is torn"),
        (&["skip", "2"], "not fitted"),
    ] {
        let place = Place::with(BODY);
        place.to_the_end(&[&[""], lines, &["0.05", "1"]].concat()).ended(0).says("Part worn");
        let events = place.events();
        let skipped = of_kind(&events, "answered")[0];
        assert_eq!(skipped["reason"], reason, "{lines:?}");
    }
}

#[test]
fn the_menu_has_fixed_numbers() {
    let place = Place::with(BODY);
    let lines = ["..", "1", "", "12.6", ",,", "2", "..", "3", "seal torn", "..", "6", "..", "", "..", "5"];
    let shown = place.at_vehicle(&lines).ended(4);
    shown
        .says("MORE 1 why 2 readings so far 3 note 4 change 5 pause 6 help")
        .says("Because.")
        .says("OK 12.6 V a: Supply")
        .says("* or OL the meter shows over range");
    assert_eq!(of_kind(&place.events(), "noted")[0]["text"], "seal torn");
}

#[test]
fn half_a_key_and_a_number_at_an_action_change_nothing() {
    let place = Place::with(BODY);
    let lines = ["12.48", "+", "", "-", "/", ".", "+", "12.6", "-0.05", "1"];
    let shown = place.to_the_end(&lines).ended(0);
    shown
        .says("12.48 is a reading. This prompt asks for an action. Enter: done.")
        .says("Not a reading. -- undo, // skip, .. more")
        .says("+ has nothing to confirm here");
    assert_eq!(typed(&place.events(), "a"), ["12.6"]);
}

#[test]
fn at_a_caution_a_note_is_kept_and_stopping_there_ends_the_run() {
    let body = "step(\"One\", near(\"lift\", \"exhaust\"));\nnote(\"n\", \"Words?\");\nconclude(\"wire\");\n";
    let unsafe_state = [
        "key=off",
        "engine=stopped",
        "ran=5",
        "lift=raised",
        "wheels=chocked",
        "battery=connected",
        "high_voltage=absent",
    ];
    let place = Place::with(body);
    let lines = ["//", "-", "note hose is off", "+", "..", "9"];
    let shown = place.run_at_vehicle(&unsafe_state).typing(&lines).go().ended(5);
    shown.says("A caution can't be skipped").says("the technician stopped at the caution");
    let events = place.events();
    assert_eq!(of_kind(&events, "noted")[0]["at_prompt"], "a caution");
    assert_eq!(of_kind(&events, "acknowledged").len(), 0);
    assert_eq!(of_kind(&events, "ended")[0]["why"], "refused_caution");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_decimal_comma_is_asked_about_once_or_said_in_shop_toml() {
    let body = "let a = read(\"a\", \"Supply\", between(4.V, 5.V));\nlet b = read(\"b\", \"Supply\", between(4.V, 5.V));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.to_the_end(&["4,998", "1", "4,123"]).ended(0);
    assert_eq!(
        (typed(&place.events(), "a"), typed(&place.events(), "b")),
        (vec!["4.998".into()], vec!["4.123".into()])
    );
    let place = Place::with(body);
    place.file("shop.toml", "name = \"Example Shop\"\ndecimal = \",\"\n");
    place.to_the_end(&["4,998", "4,123"]).ended(0);
    assert_eq!(typed(&place.events(), "b"), ["4.123"]);
}

#[test]
fn an_action_that_lasts_as_long_as_its_reading_is_one_block_with_one_answer() {
    let body = "hold(\"pedal\", \"half\");\nlet a = read(\"a\", \"Signal\", between(1.V, 2.V), across(\"signal\", \"ground\"));\nrelease(\"pedal\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let shown = place.to_the_end(&["1.5", ""]).ended(0);
    assert_eq!((shown.count("DO Set pedal to half"), shown.count("READ Signal")), (1, 1), "{shown}");
    assert_eq!(typed(&place.events(), "a"), ["1.5"]);
}

#[test]
fn large_letters_are_three_rows() {
    let place = Place::with("let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nconclude(\"wire\");\n");
    let shown = place.run_at_vehicle(&SAFE).and(&["--large"]).typing(&["12.6"]).typing(&LET_STAND).go().ended(0);
    assert!(shown.out.lines().filter(|line| line.contains(['█', '▄', '▀'])).count() == 3, "{shown}");
}
