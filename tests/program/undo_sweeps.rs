//! Undoing readings of a sweep, and sweeps that were broken off.

use crate::place::{LET_STAND, Place, events, of_kind};
use crate::whole_run::{SWEEP, ends_of_lines, of_the_script, of_the_sweep};
use serde_json::Value;

#[test]
fn a_sweep_that_was_put_down_half_way_is_taken_back_as_a_whole() {
    let body = "let track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
        let seen = ask(\"seen\", \"Clean?\");\nif track.readings == 2 { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["0.1", "0.2", "pause"]).ended(4);
    let shown = place.call("resume").typing(&["", "0.3", "", "back", "", "0.5", "4.5", "", "1", ""]).go().ended(0);
    shown.says("Wire open");
}

/// A sweep in which a reading is taken back, twice in a row once, before and after a pause.
const WITH_SLIPS: [&str; 16] = [
    "",
    "0.5",
    "1.5 5.9",
    "back",
    "2.5",
    "5.7",
    "5.8",
    "pause",
    "",
    "back",
    "BACK",
    "3.5",
    "4.5",
    "",
    "1",
    LET_STAND[0],
];

#[test]
fn back_within_a_sweep_takes_its_last_reading_back_and_the_sweep_goes_on() {
    let place = Place::with(SWEEP);
    let shown = place.at_vehicle(&WITH_SLIPS[..8]).ended(4);
    shown.says("4 V > back the reading 5.9 of `track` is taken back 3 V > 2.5 4 V >");
    let shown = place.call("resume").typing(&WITH_SLIPS[8..]).go().ended(0);
    shown
        .says("the reading 5.8 of `track` is taken back 5 V > BACK the reading 5.7 of `track` is taken back 4 V > 3.5")
        .says("Wire open");
    let events = place.events();
    assert_eq!(of_the_sweep(&events), (vec!["0.5", "1.5", "2.5", "3.5", "4.5"], vec!["5.9", "5.8", "5.7"]));
    assert_eq!(of_kind(&events, "answered")[0]["readings"], 5);
    place.call("show").go().ended(0).says("Undone 2026-11-24 09:00: the reading 5.9 of `track`").says("5 readings");
    place.call("report --format json").go().ended(0).says("\"reading\": \"5.9\"");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_run_killed_after_any_line_of_a_sweep_with_readings_taken_back_goes_on_where_it_was() {
    let place = Place::with(SWEEP);
    place.at_vehicle(&WITH_SLIPS[..8]).ended(4);
    place.call("resume").typing(&WITH_SLIPS[8..]).go().ended(0);
    let record = place.record();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let ends = ends_of_lines(&journal);
    for (index, end) in ends[..ends.len() - 1].iter().enumerate() {
        let before = &journal[..*end];
        std::fs::write(place.journal_of(&record), before).unwrap();
        let happened = events(before);
        let (standing, _) = of_the_sweep(&happened);
        // The vehicle, the key if nobody turned it, what the sweep lacks, and the last question.
        let mut lines = vec![""];
        if of_kind(&happened, "acted").is_empty() {
            lines.push("");
        }
        let answered = of_kind(&happened, "answered").len();
        if answered == 0 {
            // A reading that was not taken back before the power went is taken back now.
            let slips = standing.iter().filter(|text| ["5.9", "5.8", "5.7"].contains(text)).count();
            lines.extend(std::iter::repeat_n("back", slips));
            lines.extend(&["0.5", "1.5", "2.5", "3.5", "4.5"][standing.len() - slips..]);
            lines.push("");
        }
        if answered < 2 {
            lines.push("1");
        }
        let shown = place.call("resume").typing(&lines).typing(&LET_STAND).go();
        assert_eq!(shown.code, 0, "after line {}\n{shown}", index + 1);
        let after = std::fs::read_to_string(place.journal_of(&record)).unwrap();
        assert!(after.starts_with(before), "after line {}\n{shown}", index + 1);
        assert_eq!(of_the_sweep(&events(&after)).0, ["0.5", "1.5", "2.5", "3.5", "4.5"], "{shown}");
        place.call("verify --allow-unsigned").go().ended(0);
    }
}

#[test]
fn back_within_a_sweep_without_readings_or_with_an_id_takes_an_answer_back() {
    let body = SWEEP.replace("key_on();", "let dry = ask(\"dry\", \"Dry?\");");
    let place = Place::with(&body);
    // The reading first, then the question before the sweep.
    let lines = ["1", "0.5", "back", "back", "", "2", "0.5 2.5 4.5", "", "1"];
    place.to_the_end(&lines).ended(0).says("`dry` and all later answers are taken back").says("Wire open");
    let place = Place::with(&body);
    let lines = ["1", "0.5", "2.5", "back dry", "", "2", "0.5 2.5 4.5", "", "1"];
    place.to_the_end(&lines).ended(0).says("`dry` and all later answers are taken back");
    assert_eq!(of_kind(&place.events(), "answered").last().unwrap()["id"], "seen");
    // The sweep by its own name: all of it.
    let place = Place::with(&body);
    let lines = ["1", "0.1", "0.2", "back track", "", "0.5 2.5 4.5", "", "1"];
    place.to_the_end(&lines).ended(0).says("`track` and all later answers are taken back").says("Wire open");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn an_answer_after_a_sweep_with_a_slip_is_taken_back_with_the_whole_sweep() {
    let place = Place::with(SWEEP);
    let lines = ["", "0.5", "9.9", "back", "1.5", "back track", "", "0.5 2.5 4.5", "", "back", "", "0.6 4.4", "", "1"];
    place.to_the_end(&lines).ended(0);
    let events = place.events();
    let sweeps: Vec<_> = of_kind(&events, "answered").iter().map(|event| event["readings"].clone()).collect();
    assert_eq!(sweeps, [Value::from(3), Value::from(2), Value::Null]);
    place.call("verify --allow-unsigned").go().ended(0);
    // A slip within the sweep is no end of it when its answer is taken back.
    let place = Place::with(SWEEP);
    let lines = ["", "0.5", "9.9", "back", "2.5", "4.5", "", "back", "", "0.6 4.4", "", "1"];
    let shown = place.to_the_end(&lines);
    assert_eq!(shown.code, 0, "{shown}");
    assert_eq!(of_kind(&place.events(), "answered").last().unwrap()["id"], "seen");
    place.call("resume").go().ended(2);
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_sweep_on_the_bench_that_was_broken_off_is_swept_to_its_end() {
    let body = "key_on();\nlet track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"flap\"));\n\
        if track.follows { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    place.harmless_circuit("flap_sensor");
    place
        .call("run p.rhai --bench flap_sensor --fault none --seed 3")
        .typing(&["", "", ""])
        .go()
        .ended(0)
        .says("Wire open");
    let record = place.record();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let whole = of_the_script(&events(&journal));
    let ends = ends_of_lines(&journal);
    for end in &ends[1..ends.len() - 1] {
        std::fs::write(place.journal_of(&record), &journal[..*end]).unwrap();
        // The vehicle and the cause, the key if nobody turned it, the shaft if nobody moved it.
        let happened = events(&journal[..*end]);
        let left = ["acted", "sweep_read"].iter().filter(|kind| of_kind(&happened, kind).is_empty()).count();
        let lines = vec![""; 2 + left];
        let shown = place.call("resume").typing(&lines).go();
        assert_eq!(of_the_script(&place.events()), whole, "{shown}");
    }
}

#[test]
fn a_sweep_on_the_bench_is_typed_by_hand_to_its_end() {
    let place = Place::with(
        "key_on();\nlet track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"flap\"));\nconclude(\"wire\");\n",
    );
    place.harmless_circuit("flap_sensor");
    let call = place.call("run p.rhai --bench flap_sensor --fault none --seed 3");
    call.typing(&["", "0.5", "2.5", "back", "4.5", "", ""])
        .go()
        .ended(0)
        .says("the reading 2.5 of `track` is taken back");
    assert_eq!(of_the_sweep(&place.events()).0, ["0.5", "4.5"]);
}

#[test]
fn a_sweep_of_a_file_that_was_broken_off_goes_on_where_it_was_however_it_is_written() {
    let body = "let t = sweep(\"t\", \"Turn\", ends(0.5.V, 4.5.V), across(\"a\", \"b\"), moving(\"shaft\"));\nif t.follows { conclude(\"wire\"); }\nconclude(\"part\");\n";
    for written in
        ["\"0.5 1.5 2.5 3.5 4.5\"", "[\"0.5\", \"1.5\", 2.5, 3.5, \"4.5\"]", "[\"0.5 1.5\", \"2.5\", \"3.5 4.5\"]"]
    {
        let place = Place::with(body);
        let answers = format!("t = {written}\n");
        place.with_answers(&answers).ended(0).says("Wire open");
        let path = place.journal_of(&place.record());
        let journal = std::fs::read_to_string(&path).unwrap();
        let ends: Vec<_> = journal.match_indices('\n').map(|(at, _)| at + 1).collect();
        let first = journal.lines().position(|line| line.contains("sweep_read")).unwrap();
        for end in &ends[first..first + 5] {
            std::fs::write(&path, &journal[..*end]).unwrap();
            place.call("resume --answers answers.toml").go().ended(0).says("Wire open");
            let texts: Vec<_> =
                of_kind(&place.events(), "sweep_read").iter().map(|event| event["text"].clone()).collect();
            assert_eq!(texts, ["0.5", "1.5", "2.5", "3.5", "4.5"], "{written}");
        }
    }
}

#[test]
fn a_sweep_of_which_a_simulated_circuit_shows_too_little_is_left_to_the_person() {
    let place = Place::with(
        "let t = sweep(\"t\", \"Turn it\", ends(0.V, 12.V), across(\"battery_positive\", \"battery_negative\"), moving(\"knob\"));\n\
         conclude(\"wire\");\n",
    );
    place.harmless_circuit("data_bus");
    // The circuit has nothing that moves: its meter shows one value, which is no sweep.
    let call = place.run_at_vehicle(&[]).and(&["--bench", "data_bus", "--fault", "none"]);
    call.typing(&["", "6", "0.1", "", ""]).go().without_panic().ended(0).says("Wire open");
    let events = place.events();
    assert_eq!(of_kind(&events, "sweep_read").len(), 3);
}
