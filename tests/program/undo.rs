//! Undoing answers, at every kind of prompt.

use crate::place::{LET_STAND, Place, events, of_kind, typed};
use crate::whole_run::{ANSWERS, BODY, LINES, ends_of_lines, taken_up};
use serde_json::Value;

#[test]
fn one_answer_is_taken_back() {
    let place = Place::with(BODY);
    let mut lines: Vec<&str> = LINES[..13].to_vec();
    lines.extend(["back", "1", "1", "rust"]);
    place.to_the_end(&lines).ended(0).says("Undone: `seen` and all later answers").says("Part worn");
    let events = place.events();
    assert_eq!(of_kind(&events, "struck")[0]["id"], "seen");
    let seen: Vec<_> = of_kind(&events, "answered")
        .iter()
        .filter(|event| event["id"] == "seen")
        .map(|event| event["yes"].clone())
        .collect();
    assert_eq!(seen, [Value::from(false), Value::from(true)]);
    // The key was turned and the connector unplugged once; that stays done.
    assert_eq!(of_kind(&events, "acted").iter().filter(|event| event["already"].is_null()).count(), 3);
    place.call("show").go().ended(0).says("Undone").says("undone (was no verdict)");
}

#[test]
fn an_answer_that_the_procedure_can_not_go_on_with_is_given_again() {
    let body = "let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nlet b = read(\"b\", \"Drop\", at_most(0.2.V));\nif a.ok && b.value < 0.1.V { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    // `back` is no reason; the skipped one is needed, and then the one over range.
    let lines = ["skip", "back", "skip no light", "OL", "1", "12.6", "OL", "1", "50"];
    place
        .to_the_end(&lines)
        .ended(0)
        .says("The procedure can't go on: `a` was skipped, and the procedure needs it (no light).")
        .says("`b` shows OL, and the procedure needs its value")
        .says("Wire open");
    place.call("verify --allow-unsigned").go().ended(0);
    let place = Place::with(body);
    place
        .at_vehicle(&["skip no light", "50", "2"])
        .ended(5)
        .says("`a` was skipped, and the procedure needs it (no light)");
    place.call("verify --allow-unsigned").go().ended(0);
    let place = Place::with(body);
    place.at_vehicle(&["12.6", "OL", "2"]).ended(5).says("`b` shows OL, and the procedure needs its value");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn where_nothing_can_be_taken_back_the_prompt_stays() {
    let place = Place::with(BODY);
    let mut lines = vec!["back", "back supply"];
    lines.extend(LINES);
    place
        .at_vehicle(&lines)
        .ended(0)
        .says("there is no answer yet that could be taken back")
        .says("there is no answer to `supply` that could be taken back");
    assert_eq!(of_kind(&place.events(), "struck").len(), 0);
}

const NOTED: &str = "step(\"First\");\nwhy(\"Because.\");\nlet door = ask(\"door\", \"Is the door shut?\");\n\
    let words = note(\"words\", \"What else?\");\nif words.skipped || words.text == \"wire\" { conclude(\"wire\"); }\nconclude(\"part\");\n";

#[test]
fn the_plain_words_work_at_a_note_too() {
    let place = Place::with(NOTED);
    let shown = place.at_vehicle(&["1", "why", "help", "note", "all dry", "back", "", "2", "pause"]).ended(4);
    shown.says("Because.").says("a note that begins with one of the words below").says("Note: all dry");
    let shown = place.call("resume").typing(&["", "back door", "", "1", "Skip no light here", ""]).go().ended(0);
    shown.says("Undone: `door` and all later answers").says("left out: no light here").says("Wire open");
    let events = place.events();
    assert_eq!(of_kind(&events, "struck").len(), 2);
    let words: Vec<_> = of_kind(&events, "answered").into_iter().filter(|event| event["id"] == "words").collect();
    assert_eq!((words.len(), &words[0]["reason"]), (1, &"no light here".into()));
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn text_that_begins_with_a_plain_word_is_a_note_all_the_same() {
    for (line, words) in [
        ("back door wet", "back door wet"),
        ("back seat", "back seat"),
        ("why it rattles nobody knows", "why it rattles nobody knows"),
        ("pause in the pump at idle", "pause in the pump at idle"),
        ("help came late", "help came late"),
        ("note on the seal: torn", "note on the seal: torn"),
        ("skipping at idle", "skipping at idle"),
        ("\"back door\"", "back door"),
        ("\"Skip in the idle\"", "Skip in the idle"),
        ("\"pause\"", "pause"),
        // Nothing but the customer's own words: the marks stay.
        ("\"it hums\"", "\"it hums\""),
    ] {
        let place = Place::with(NOTED);
        place.at_vehicle(&["1", line, ""]).ended(0);
        let events = place.events();
        assert_eq!(of_kind(&events, "answered")[1]["words"], words, "{line}");
        place.call("verify --allow-unsigned").go().ended(0);
    }
}

#[test]
fn what_was_taken_back_can_be_taken_back_again_and_survives_a_kill() {
    let place = Place::with(BODY);
    let mut lines: Vec<&str> = LINES[..14].to_vec();
    lines.extend(["back", "", "back", "", "2", "1", "back", "", "2", "rust Ω"]);
    let shown = place.to_the_end(&lines);
    assert_eq!(shown.code, 0, "{shown}");
    let record = place.record();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    assert_eq!(of_kind(&events(&journal), "struck").len(), 3, "{shown}");
    place.answers(ANSWERS);
    let ends = ends_of_lines(&journal);
    for end in &ends[..ends.len() - 1] {
        let shown = taken_up(&place, &record, &journal.as_bytes()[..*end]).ended(0);
        assert_eq!(standing(&place.events()), ["supply", "track", "seen", "how", "words"], "{shown}");
    }
}

/// Ids of the answers that were not taken back.
fn standing(events: &[Value]) -> Vec<&str> {
    let mut standing: Vec<(u64, &str)> = Vec::new();
    for (line, event) in (1..).zip(events) {
        match event["event"].as_str().unwrap() {
            "answered" => standing.push((line, event["id"].as_str().unwrap())),
            "struck" => standing.retain(|(line, _)| *line < event["from_line"].as_u64().unwrap()),
            _ => {}
        }
    }
    standing.into_iter().map(|(_, id)| id).collect()
}

#[test]
fn a_doubt_that_was_put_down_is_taken_back_with_its_answer() {
    let body = "let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nlet seen = ask(\"seen\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["1.26", "pause"]).ended(4);
    // Taken back, a slip of the decimal point is asked about anew.
    place.call("resume").typing(&["", "12.6", "back", "", "1.25", "12.5", "1", ""]).go().ended(0);
    let events = place.events();
    assert_eq!(of_kind(&events, "doubted").len(), 2);
    assert_eq!(typed(&events, "a"), ["12.6", "12.5"]);
}

#[test]
fn what_was_taken_over_from_another_record_is_taken_back_like_any_other_answer() {
    let place = Place::with("let a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n");
    place.at_vehicle(&["1", "pause"]).ended(4);
    place.procedure("let a = ask(\"a\", \"Is it dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n");
    let lines = ["", "back", "2", "1"];
    let shown = place.call("resume").and(&["--new-run"]).typing(&lines).typing(&LET_STAND).go().ended(0);
    assert_eq!(shown.count("Is it dry?"), 2, "{shown}");
    let latest = place.records().into_iter().next_back().unwrap();
    let events = place.events_of(&latest);
    let answers: Vec<_> = of_kind(&events, "answered")
        .iter()
        .map(|event| (event["id"].clone(), event["yes"].clone(), event["origin"]["from"].clone()))
        .collect();
    let (yes, no) = (Value::from(true), Value::from(false));
    assert_eq!(
        answers,
        [
            ("a".into(), yes.clone(), "carried_over".into()),
            ("a".into(), no, "input".into()),
            ("b".into(), yes, "input".into())
        ],
        "{shown}"
    );
}

#[test]
fn at_a_note_only_what_still_stands_can_be_gone_back_to() {
    let place = Place::with(
        "let door = ask(\"door\", \"Is the door shut?\");\nif door.yes { ask(\"lid\", \"Is the lid shut?\"); }\n\
         let words = note(\"words\", \"What else?\");\nconclude(\"wire\");\n",
    );
    place.at_vehicle(&["1", "1", "back door", "", "2", "back lid", ""]).ended(0);
    let events = place.events();
    assert_eq!(of_kind(&events, "struck").len(), 1);
    let words: Vec<_> = of_kind(&events, "answered").into_iter().filter(|event| event["id"] == "words").collect();
    assert_eq!((words.len(), &words[0]["words"]), (1, &"back lid".into()), "what is no answer is text");
}

#[test]
fn what_is_concluded_from_a_slip_is_taken_back_before_it_stands() {
    let body =
        "let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nif a.ok { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    let lines = ["18", "help", "skip it", "note hand slipped", "what", "back", "12.6"];
    let shown = place.to_the_end(&lines).ended(0);
    shown.says("Part worn").says("Undone: `a` and all later answers").says("Wire open").says("nothing is asked here");
    let events = place.events();
    assert_eq!(typed(&events, "a"), ["18", "12.6"]);
    assert_eq!(of_kind(&events, "concluded").len(), 1, "what was taken back was never concluded");
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down there, it is shown again; the end of input is no assent.
    let place = Place::with(body);
    place.at_vehicle(&["18"]).ended(4).says("Part worn").says("Paused.");
    place.call("verify --allow-unsigned").go().ended(0);
    place.call("resume").typing(&["", "back", "", "12.6", ""]).go().ended(0).says("Wire open");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn at_a_doubt_back_takes_back_what_is_asked_about_and_nothing_else() {
    let body = "let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nlet b = read(\"b\", \"Reference\", between(4.75.V, 5.25.V));\n\
        if b.ok { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    let shown = place.to_the_end(&["12.6", "49.98", "back", "-5.0", "back b", "4.998"]).ended(0);
    assert_eq!(shown.count("V > 12.6"), 1, "{shown}");
    shown.says("the reading 49.98 of `b` is undone").says("the reading -5.0 of `b` is undone").says("Wire open");
    let events = place.events();
    assert_eq!((typed(&events, "a"), typed(&events, "b")), (vec!["12.6".to_owned()], vec!["4.998".to_owned()]));
    assert_eq!(of_kind(&events, "doubted").len(), 2, "both are kept");
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down behind it, it is not asked about again.
    let place = Place::with(body);
    place.at_vehicle(&["12.6", "49.98", "back", "pause"]).ended(4);
    place.call("resume").typing(&["", "4.998", ""]).go().ended(0).never_says("+ keeps it");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn back_at_the_last_thing_to_do_runs_the_script_again() {
    let body = "let a = read(\"a\", \"Supply\", at_least(9.6.V));\nhold(\"lights\", \"off\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["12.6", "back", "12.5", ""]).ended(5).says("OK 12.5 V");
    assert_eq!(typed(&place.events(), "a"), ["12.6", "12.5"]);
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn back_at_a_caution_may_be_typed_as_often_as_one_likes() {
    let place = Place::with("crank();\nlet a = read(\"a\", \"Supply\", at_least(9.6.V));\nconclude(\"wire\");\n");
    let lines = vec!["back"; 30_000];
    place.at_vehicle(&lines).ended(4);
}

#[test]
fn what_is_left_out_by_a_slip_can_still_be_done() {
    let place = Place::with("key_on();\nlet a = read(\"a\", \"Supply\", at_least(9.6.V));\nconclude(\"wire\");\n");
    let lines = ["skip", "skip key broken", "x", "1", "", "12.6", ""];
    let shown = place.at_vehicle(&lines).ended(0);
    shown
        .says("The procedure can't go on without it.")
        .says("1 ask for it again, 2 end the run here")
        .says("Type 1 or 2");
    place.call("verify --allow-unsigned").go().ended(0);
    let place = Place::with("key_on();\nlet a = read(\"a\", \"Supply\", at_least(9.6.V));\nconclude(\"wire\");\n");
    place
        .at_vehicle(&["skip key broken", "2"])
        .ended(5)
        .says("not done: Turn the key on, engine not running (key broken)");
    place.call("verify --allow-unsigned").go().ended(0);
}
