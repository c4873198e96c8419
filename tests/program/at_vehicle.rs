//! At the vehicle: the way back at every ending, waits, and an answer that is changed.

use crate::place::{Place, kinds, of_kind, typed};
use crate::whole_run::ends_of_lines;
use serde_json::Value;

fn back(events: &[Value]) -> Vec<&str> {
    of_kind(events, "acted")
        .into_iter()
        .filter(|event| event["back"] == true)
        .map(|event| event["do"].as_str().or(event["action"]["do"].as_str()).unwrap())
        .collect()
}

/// What is still open of what was left changed last.
fn open(events: &[Value]) -> Vec<String> {
    let Some(last) = events.iter().rposition(|event| event["event"] == "left_changed") else { return vec![] };
    let done = &events[last..];
    let is_done = |action: &&Value| {
        done.iter().any(|event| event["event"] == "acted" && event["back"] == true && event["action"] == **action)
    };
    let open = events[last]["open"].as_array().unwrap().iter().filter(|action| !is_done(action));
    open.map(|action| action["do"].as_str().unwrap().to_owned()).collect()
}

const LEFT: &str = "take_out(\"F2\");\nunplug(\"C41\");\nkey_on();\n\
    let a = read(\"a\", \"Supply\", between(12.V, 13.V), across(\"x\", \"y\"));\n";

#[test]
fn a_cause_offers_the_way_back_in_a_safe_order_and_each_line_is_an_action() {
    let place = Place::with(&format!("{LEFT}conclude(\"wire\");\n"));
    let shown = place.at_vehicle(&["", "", "", "12.6", "", "", "", "", ""]).ended(0);
    shown.clone().says("Left changed: key ON, meter leads on, C41 unplugged, F2 out.");
    let events = place.events();
    assert_eq!(back(&events), ["turn_key", "take_leads_off", "plug", "put_back"], "{shown}");
    assert_eq!(*kinds(&events).last().unwrap(), "concluded");
    assert!(open(&events).is_empty());
    place.call("show").go().ended(0).never_says("│ left ");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_switch_that_was_put_back_where_it_rests_is_not_left_changed() {
    let place = Place::new();
    for (last, left) in [("half", 1), ("shut", 0)] {
        place.file(
            "p.rhai",
            format!("//! title = \"Test\"\n//! revision = 1\n//! circuit = \"pump\"\n//! [causes]\n//! wire = {{ cause = \"x\", correction = \"y\" }}\nhold(\"flap\", \"half\");\nhold(\"flap\", \"{last}\");\nconclude(\"wire\");\n"),
        );
        place.file(
            "circuits/pump.toml",
            "title = \"x\"\nzero_volts = \"m\"\nstart = { key = \"off\" }\npoint = [{ id = \"p\" }, { id = \"m\" }]\n\
             movement = [{ id = \"flap\", choices = [\"shut\", \"half\"], start = \"shut\" }]\n\
             part = [{ id = \"b\", kind = \"battery\", positive = \"p\", negative = \"m\", volts = \"12 V\", resistance = \"1 mohm\" }]\n",
        );
        place.file("shop.toml", "name = \"Test shop\"\n");
        let shown = place.call("run p.rhai --simulate").typing(&[""; 6]).in_vain().go().ended(0);
        assert_eq!(shown.count("Left changed: flap half"), left, "{shown}");
        assert_eq!(shown.count("Left changed"), left, "{shown}");
    }
}

#[test]
fn a_line_that_is_left_stays_open_in_the_record() {
    let place = Place::with(&format!("{LEFT}conclude(\"wire\");\n"));
    place.at_vehicle(&["", "", "", "12.6", "", "", "", "skip the plug is at the bench", ""]).ended(0);
    let events = place.events();
    assert_eq!(back(&events), ["turn_key", "take_leads_off", "put_back"]);
    assert_eq!(open(&events), ["plug"]);
    assert_eq!(*kinds(&events).last().unwrap(), "concluded");
    place.call("verify --allow-unsigned").go().ended(0);
    place.call("show").go().ended(0).says("C41 unplugged");
}

#[test]
fn every_other_ending_offers_it_too() {
    for (end, lines, kind) in [
        ("unfinished(\"no access\");\n", vec!["2", "", "", "", ""], "ended"),
        ("let b = ask(\"b\", \"Dry?\");\n", vec!["pause", "", "", "", ""], "paused"),
        ("throw \"a mistake\";\n", vec!["", "", "", ""], "ended"),
        ("carry_out(\"Lift the cab\");\n", vec!["skip stuck", "2", "", "", "", ""], "ended"),
        ("", vec!["", "", "", ""], "ended"),
    ] {
        let place = Place::with(&format!("{LEFT}{end}"));
        let mut typed = vec!["", "", "", "12.6"];
        typed.extend(&lines);
        let shown = place.at_vehicle(&typed);
        let events = place.events();
        assert_eq!(back(&events), ["turn_key", "take_leads_off", "plug", "put_back"], "{end}\n{shown}");
        assert_eq!(*kinds(&events).last().unwrap(), kind, "{end}\n{shown}");
        if kind != "paused" && !end.starts_with("throw") {
            place.call("verify --allow-unsigned").go().ended(0);
        }
    }
}

#[test]
fn an_answers_file_puts_nothing_back_and_the_record_says_what_is_open() {
    let place = Place::with(&format!("{LEFT}conclude(\"wire\");\n"));
    place.with_answers("a = \"12.6\"\n").ended(0);
    let events = place.events();
    assert!(back(&events).is_empty());
    assert_eq!(open(&events), ["turn_key", "take_leads_off", "plug", "put_back"]);
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_paused_run_is_put_back_and_brought_there_again() {
    let place = Place::with(&format!("{LEFT}let b = ask(\"b\", \"Dry?\");\nconclude(\"wire\");\n"));
    place.at_vehicle(&["", "", "", "12.6", "pause", "", "", "", ""]).ended(4);
    let shown = place.call("resume").typing(&["", "", "", "", "1", "", "", "", ""]).go().ended(0);
    let events = place.events();
    let first = ["turn_key", "take_leads_off", "plug", "put_back"];
    let (there, last) = (["unplug", "take_out", "turn_key"], ["turn_key", "plug", "put_back"]);
    assert_eq!(back(&events), [&first[..], &there, &last].concat(), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_the_author_did_in_words_is_undone_in_words_and_done_again_after_a_pause() {
    let body = "carry_out(\"Fuel off\");\nundone_by(\"Fuel on\");\nlet a = ask(\"a\", \"Dry?\");\n\
        let b = ask(\"b\", \"Clean?\");\ncarry_out(\"Fuel on\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    // Nothing is left to undo once the script has it done.
    place.at_vehicle(&["", "1", "1", "", ""]).ended(0);
    assert!(back(&place.events()).is_empty() && of_kind(&place.events(), "left_changed").is_empty());
    let place = Place::with(body);
    place.at_vehicle(&["", "1", "pause", ""]).ended(4).says("Left changed: not done: Fuel on.");
    let shown = place.call("resume").typing(&["", "", "1", "", ""]).go().ended(0);
    let done: Vec<String> = of_kind(&place.events(), "acted")
        .into_iter()
        .map(|event| event["action"]["text"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(done, ["Fuel off", "Fuel on", "Fuel off", "Fuel on"], "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_a_question_tells_to_do_is_known_without_being_asked() {
    let place = Place::with(
        "question_tells();\nkey_on();\nlet a = ask(\"a\", \"Turn the key on: does the lamp light?\");\nconclude(\"wire\");\n",
    );
    let shown = place.at_vehicle(&["1", "", ""]).ended(0);
    shown.clone().says("Left changed: key ON.");
    let events = place.events();
    assert_eq!(of_kind(&events, "acted")[0]["by_question"], true);
    assert_eq!(back(&events), ["turn_key"]);
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn the_starter_rests_between_two_cranks() {
    let place = Place::with(
        "crank();\nlet a = read(\"a\", \"Drop\", at_most(13.V), across(\"x\", \"y\"));\nstop_engine();\ncrank();\n\
         let b = read(\"b\", \"Drop\", at_most(13.V), across(\"x\", \"y\"));\nconclude(\"wire\");\n",
    );
    let shown = place.run_at_vehicle(&crate::place::SAFE).typing(&["+", "", "10", "", "", "10", "", "", ""]).go();
    shown.clone().says("Starter rests until 09:0").says("turned ≤ 15 s (Army TM 5-2420-230-24-1");
}

#[test]
fn a_wait_says_when_it_ends_and_is_not_cut_short_by_a_second_enter_unseen() {
    let place = Place::with("wait(40.min, \"asleep\");\nlet a = ask(\"a\", \"Dry?\");\nconclude(\"wire\");\n");
    let shown = place.at_vehicle(&["", "", "1", ""]).ended(0);
    shown.clone().says("Wait 40 min: the modules fall asleep").says("until 09:4");
    shown.clone().says("The wait just started. Enter again only if it has already stood 40 min.");
    assert_eq!(of_kind(&place.events(), "acted")[0]["action"]["because"], "asleep");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_wait_for_energy_to_run_down_can_t_be_shortened() {
    let place = Place::with("wait(3.min, \"discharged\");\nlet a = ask(\"a\", \"Dry?\");\nconclude(\"wire\");\n");
    let shown = place.at_vehicle(&["", "", ""]).ended(4);
    assert_eq!(shown.flat().matches("This wait can't be shortened. It ends at 09:0").count(), 3, "{shown}");
    assert!(of_kind(&place.events(), "acted").is_empty());
    // Nothing is changed meanwhile.
    let place = Place::with(
        "let a = ask(\"a\", \"Dry?\");\nwait(3.min, \"discharged\");\nlet b = ask(\"b\", \"Dry?\");\nconclude(\"wire\");\n",
    );
    place.at_vehicle(&["1", "change a", "1", "2", "typed wrong"]).ended(4).says("Nothing is changed during this wait");
}

#[test]
fn readings_are_taken_while_a_battery_rests_and_nothing_else_is_done() {
    let place = Place::with(
        "begin_wait(30.min, \"rested\");\nlet a = read(\"a\", \"Battery\", between(12.V, 13.V), across(\"x\", \"y\"));\nend_wait();\n\
         let b = read(\"b\", \"Battery\", between(12.V, 13.V), across(\"x\", \"y\"));\nconclude(\"wire\");\n",
    );
    place.at_vehicle(&["12.5", "", "", "12.6", ""]).ended(0);
    assert_eq!(kinds(&place.events())[1..4], ["wait_began", "answered", "acted"]);
    place.call("verify --allow-unsigned").go().ended(0);
    for (body, says) in [
        ("begin_wait(30.min, \"rested\");\nkey_on();\n", "only readings are taken while a wait lasts"),
        ("begin_wait(30.min, \"asleep\");\n", "readings disturb such a wait"),
        ("end_wait();\n", "no wait was begun"),
        ("wait(3.min, \"discharge\");\n", "did you mean `discharged`"),
    ] {
        Place::with(&format!("{body}conclude(\"wire\");\n")).at_vehicle(&[]).ended(3).says(says);
    }
}

const CHANGED: &str = "key_on();\nlet a = read(\"a\", \"Supply\", between(12.V, 13.V), across(\"x\", \"y\"));\nkey_off();\n\
    if a.low { let low = ask(\"low\", \"Low: charged?\"); }\n\
    let b = read(\"b\", \"Rest\", between(12.V, 13.V), across(\"x\", \"z\"));\n\
    let track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"s\", \"g\"), moving(\"shaft\"));\n\
    let c = ask(\"c\", \"Clean?\");\nif a.ok && b.ok { conclude(\"wire\"); }\nconclude(\"part\");\n";

#[test]
fn a_mistyped_value_is_changed_and_nothing_is_measured() {
    let place = Place::with(CHANGED);
    let shown = place
        .at_vehicle(&["", "11.6", "", "1", "12.5", "0.5 2.5 4.5", "", "change a", "1", "12.6", "misread", "", "1", ""])
        .ended(0);
    shown.clone().says("Wire open");
    let events = place.events();
    let changed = of_kind(&events, "changed")[0];
    assert_eq!(
        (&changed["id"], &changed["old"], &changed["new"], &changed["reason"]),
        (&"a".into(), &"11.6".into(), &"12.6".into(), &"misread".into())
    );
    assert_eq!(typed(&events, "a"), ["11.6", "12.6"], "{shown}");
    assert_eq!(typed(&events, "b"), ["12.5", "12.5"], "{shown}");
    assert_eq!(of_kind(&events, "kept").len(), 2, "{shown}");
    // What was done stays as it was: the key is off, and was not turned again.
    let turned = of_kind(&events, "acted").into_iter().filter(|event| event["already"] != true).count();
    assert_eq!(turned, 2, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_reading_is_measured_again_with_the_vehicle_brought_there_and_to_where_the_script_is() {
    let place = Place::with(CHANGED);
    let shown = place
        .at_vehicle(&[
            "",
            "12.4",
            "",
            "12.5",
            "0.5 2.5 4.5",
            "",
            "change a",
            "2",
            "lead slipped",
            "",
            "",
            "12.7",
            "",
            "1",
            "",
        ])
        .ended(0);
    shown.clone().says("What differs: key OFF.");
    let events = place.events();
    assert_eq!(typed(&events, "a"), ["12.4", "12.7"], "{shown}");
    assert_eq!((typed(&events, "b").len(), of_kind(&events, "kept").len()), (2, 2), "{shown}");
    assert_eq!(back(&events), ["turn_key", "turn_key"], "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_a_contact_was_opened_for_since_is_named_and_asked_again() {
    let place = Place::with(
        "let a = read(\"a\", \"Supply\", between(12.V, 13.V), across(\"x\", \"y\"));\n\
         let b = read(\"b\", \"Rest\", between(12.V, 13.V), across(\"x\", \"z\"));\nunplug(\"C1\");\nplug(\"C1\");\n\
         let c = ask(\"c\", \"Clean?\");\nlet d = ask(\"d\", \"Dry?\");\nconclude(\"wire\");\n",
    );
    let shown = place
        .at_vehicle(&["12.4", "12.5", "", "", "1", "change a", "2", "slipped", "", "12.6", "12.6", "1", ""])
        .ended(0);
    shown.clone().says("`b` is asked again: a connector or a part was opened since.");
    let events = place.events();
    assert_eq!(
        (typed(&events, "b"), of_kind(&events, "kept").len()),
        (vec!["12.5".into(), "12.6".into()], 1),
        "{shown}"
    );
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_can_t_be_changed_is_said_and_stands() {
    let place = Place::with(CHANGED);
    let shown = place.at_vehicle(&[
        "",
        "12.4",
        "",
        "12.5",
        "change nothing",
        "change a",
        "1",
        "twelve",
        "slip",
        "change a",
        "1",
        "",
        "0.5 2.5 4.5",
        "",
        "change track",
        "1",
        "0.6",
        "slip",
        "change track",
        "1",
        "2: 62",
        "slip",
        "1",
        "",
    ]);
    shown
        .clone()
        .says("`nothing` is not answered yet")
        .says("Nothing is changed.")
        .says("say which of the 3 readings was mistyped")
        .says("62 V can kill. If the meter showed that, measure again");
    assert!(of_kind(&place.events(), "changed").is_empty());
}

#[test]
fn a_reading_of_a_sweep_and_a_skip_are_changed_and_a_doubt_at_the_new_value_is_recorded() {
    let place = Place::with(CHANGED);
    let shown = place.at_vehicle(&[
        "",
        "12.6",
        "",
        "skip no time",
        "0.5 3.5 4.5",
        "",
        "change track",
        "1",
        "2: 2.5",
        "slip of the finger",
        "change b",
        "1",
        "1.26",
        "it was read",
        "+",
        "1",
        "",
    ]);
    let events = place.events();
    let changed = of_kind(&events, "changed");
    let words = |event: &Value| (event["old"].clone(), event["new"].clone());
    assert_eq!(changed.len(), 2, "{shown}");
    assert_eq!(words(changed[0]), ("2: 3.5".into(), "2: 2.5".into()), "{shown}");
    assert_eq!(words(changed[1]), ("skipped: no time".into(), "1.26".into()), "{shown}");
    let read: Vec<_> = of_kind(&events, "sweep_read").iter().map(|event| event["text"].clone()).collect();
    assert_eq!(read[..6], ["0.5", "3.5", "4.5", "0.5", "2.5", "4.5"], "{shown}");
    let doubted = of_kind(&events, "doubted");
    assert!(doubted.iter().any(|event| event["id"] == "b" && event["typed"] == "1.26"), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_change_survives_a_kill_after_any_line_and_comes_out_the_same_again() {
    let lines: [&[&str]; 2] = [
        &["", "11.6", "", "1", "12.5", "0.5 2.5 4.5", "", "change a", "1", "12.6", "misread", "", "1", ""],
        &["", "12.4", "", "12.5", "0.5 2.5 4.5", "", "change a", "2", "lead slipped", "", "", "12.7", "", "1", ""],
    ];
    for lines in lines {
        let place = Place::with(CHANGED);
        place.at_vehicle(lines).ended(0);
        let record = place.record();
        let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
        place.answers("a = \"12.7\"\nb = \"12.5\"\ntrack = [\"0.5\", \"2.5\", \"4.5\"]\nc = true\nlow = true\n");
        let ends = ends_of_lines(&journal);
        for (index, end) in ends[..ends.len() - 1].iter().enumerate() {
            std::fs::write(place.journal_of(&record), &journal.as_bytes()[..*end]).unwrap();
            let shown = place.call("resume --answers answers.toml").go();
            assert_eq!(shown.code, 0, "after line {}\n{shown}", index + 1);
            let events = place.events();
            assert_eq!(typed(&events, "b").last().unwrap(), "12.5", "after line {}\n{shown}", index + 1);
            let verified = place.call("verify --allow-unsigned").go();
            assert_eq!(verified.code, 0, "after line {}\n{shown}\n{verified}", index + 1);
        }
    }
}
