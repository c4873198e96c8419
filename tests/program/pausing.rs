//! Pausing and resuming: nothing is lost and nothing is asked twice.

use crate::place::{LET_STAND, Place, events, kinds, of_kind};
use crate::whole_run::{BODY, LINES, ends_of_lines, of_the_script, recorded, taken_up};
use insta::assert_snapshot;
use serde_json::Value;

#[test]
fn a_run_killed_after_any_line_goes_on_with_nothing_lost_and_nothing_asked_twice() {
    let (place, journal) = recorded();
    let record = place.record();
    let whole = of_the_script(&events(&journal));
    let ends = ends_of_lines(&journal);
    for (index, end) in ends[..ends.len() - 1].iter().enumerate() {
        let shown = taken_up(&place, &record, &journal.as_bytes()[..*end]).ended(0);
        let after = std::fs::read_to_string(place.journal_of(&record)).unwrap();
        assert!(after.starts_with(&journal[..*end]), "what stood before stands after line {}", index + 1);
        assert_eq!(of_the_script(&events(&after)), whole, "after line {}\n{shown}", index + 1);
    }
    // At its end there is nothing to go on with.
    taken_up(&place, &record, journal.as_bytes()).ended(2).says("has ended: Wire open");
}

#[test]
fn a_run_killed_at_any_byte_of_its_last_line_drops_that_line_and_says_so() {
    let (place, journal) = recorded();
    let record = place.record();
    let whole = of_the_script(&events(&journal));
    for line in [journal.lines().count() - 1, 7] {
        let start: usize = journal.lines().take(line).map(|line| line.len() + 1).sum();
        let end = start + journal.lines().nth(line).unwrap().len();
        for cut in start..=end {
            let shown = taken_up(&place, &record, &journal.as_bytes()[..cut]).ended(0);
            let after = std::fs::read_to_string(place.journal_of(&record)).unwrap();
            assert_eq!(of_the_script(&events(&after)), whole, "cut at {cut}\n{shown}");
            let torn = of_kind(&events(&after), "torn_line_dropped").len();
            assert_eq!(torn, usize::from(cut > start), "cut at {cut}");
            assert_eq!(shown.flat().contains("had not been written whole"), cut > start, "cut at {cut}\n{shown}");
        }
    }
}

#[test]
fn a_run_killed_before_its_first_line_is_whole_has_nothing_to_go_on_with() {
    let (place, journal) = recorded();
    let record = place.record();
    let first = journal.find('\n').unwrap();
    for cut in [0, 1, first / 2, first] {
        taken_up(&place, &record, &journal.as_bytes()[..cut]).ended(2).says("there are no records in");
        // By its name it can be asked for, but it is none of the records.
        place.call("show").and(&[&record]).go().ended(2).says("was broken off before anything was recorded");
        place.call("show").go().ended(2).says("there are no records in");
    }
}

#[test]
fn put_down_at_every_prompt_and_taken_up_by_a_person_it_comes_to_the_same() {
    let (_, journal) = recorded();
    let whole = of_the_script(&events(&journal));
    for lines in 0..LINES.len() - 1 {
        let place = Place::with(BODY);
        place.at_vehicle(&LINES[..lines]).ended(4);
        // First the vehicle, confirmed with Enter; then what is left.
        let mut rest = vec![""];
        rest.extend(&LINES[lines..]);
        let shown = place.call("resume").typing(&rest).go().says("The vehicle, as the record left it");
        let events = place.events();
        assert_eq!(shown.code, 0, "put down after {lines}\n{shown}");
        assert_eq!(of_the_script(&events), whole, "put down after {lines}\n{shown}");
    }
}

#[test]
fn taking_up_shows_what_was_done_and_how_the_vehicle_was_left() {
    let place = Place::with(BODY);
    place.to_the_end(&LINES[..12]).ended(4);
    let shown = place.call("resume").clock("2026-11-24T13:00:00Z").typing(&["", "2", "2", "rust Ω", ""]).go().ended(0);
    assert_snapshot!(shown, @"
    exit 0
    --- stdout
    Test (revision 1)
    2026-11-24-090000-p-unit-12; Unit 12
      Step: First
      Done: Turn the key on, engine not running
      49.98? Expected about 4.998 V. Decimal slip, or wrong range?
      Reference: 4.998 V, OK (4.75 … 5.25 V)
      Turn the shaft: 0.5 V, 1.5 V, 2.5 V, 3.5 V at late, 4.5 V: follows, 0.5 V …
        4.5 V
      Step: Second
      Note: all dry
      Done: Turn the key off
      Done: Unplug C41
    The vehicle, as the record left it. Look before you trust it:
    ┌─────────────────────┬───────────┐
    │ key                 ┆ off       │
    │ engine              ┆ stopped   │
    │ vehicle             ┆ down      │
    │ wheels              ┆ chocked   │
    │ battery             ┆ connected │
    │ high-voltage system ┆ absent    │
    │ unplugged           ┆ C41       │
    └─────────────────────┴───────────┘
      Enter if it stands so. If not: write it as key=on, vehicle=raised or plug=C41
      >
    ── step 2 of up to 2  Second  seen ─────────────────────────────────────────────
    READ     Is it corroded?
    STATE    key off   C41 UNPLUGGED
    1 yes, 2 no   -- undo   // skip   .. more
    1 yes, 2 no > 2
    ── step 2 of up to 2  how ──────────────────────────────────────────────────────
    READ     What is it like?
          1  loose
          2  tight
    A number from 1 to 2   -- undo   // skip   .. more
    number > 2
    ── step 2 of up to 2  words ────────────────────────────────────────────────────
    READ     What else?
    Your words   -- undo   // skip   .. more
    > rust Ω
    ── result ──────────────────────────────────────────────────────────────────────
    FOUND    Wire open
    DO       Repair the wire
    Enter accepts, -- undoes the last answer >
      Left changed: meter leads on, C41 unplugged.
    DO       Take the meter's leads off
    Enter: done >
    Found: Wire open. Do: Repair the wire.
    Left changed: meter leads on, C41 unplugged.
    Record 1: 2026-11-24-090000-p-unit-12
    Next: ohmwright report 1
    ");
}

#[test]
fn notes_from_before_a_pause_are_shown_on_taking_up() {
    let body = "let a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let lines = ["note before a", "1", "note before b", "back", "", "2", "note seal \u{7}torn", "pause"];
    place.at_vehicle(&lines).ended(4);
    let shown = place.call("resume").typing(&["", "1", ""]).go().ended(0);
    // What was written down stays, though the answer beside it was taken back; and nothing is shown twice.
    shown.says("Note: before a Note: before b Dry?: no Note: seal \\u{7}torn The vehicle, as the record left it");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn the_vehicle_is_corrected_on_taking_up() {
    let body = "key_on();\nunplug(\"C41\");\nlet a = read(\"a\", \"Supply\", between(12.V, 13.V));\nkey_off();\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["", "", "pause"]).ended(4);
    let lines = ["kye=off", "key=of", "nothing", "key=off", "plug=C41", "lift=raised", "", "", "", "12.6", ""];
    let shown = place.call("resume").typing(&lines).typing(&LET_STAND).go().ended(0);
    // The reading is taken as the procedure has it: C41 apart and the key on. The lift is nothing that it moved.
    let counts = ["DO Unplug C41", "DO Turn the key on", "DO Turn the key off", "Lower"].map(|text| shown.count(text));
    assert_eq!(counts, [1, 1, 1, 0], "{shown}");
    let events = place.events();
    let resumed = of_kind(&events, "resumed")[0];
    assert_eq!((&resumed["corrected"], &resumed["vehicle"]["key"]), (&true.into(), &"off".into()));
    assert_eq!(resumed["vehicle"]["lift"], "raised");
    assert_eq!(resumed["vehicle"]["unplugged"], Value::Null);
}

#[test]
fn the_engines_rest_is_corrected_by_the_runs_own_clock() {
    let place = Place::with("let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nconclude(\"wire\");\n");
    place.at_vehicle(&["pause"]).ended(4);
    place.call("resume").typing(&["ran=5", "", "12.6", ""]).go().ended(0);
    let minute = |time: &str| time.parse::<jiff::Timestamp>().unwrap().as_second() / 60;
    let events = place.events();
    assert_eq!(of_kind(&events, "resumed")[0]["vehicle"]["engine_stopped_at"], minute(crate::place::CLOCK) - 5);
}

#[test]
fn a_run_that_waits_is_answered_by_a_person() {
    let place = Place::with(BODY);
    place.with_answers("supply = \"4.998\"\n").ended(4).says("Waits for `track` (Turn the shaft)");
    place.call("show").go().ended(0).says("It waits for: Turn the shaft (`track`)");
    let shown = place.call("resume").typing(&["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω", ""]).go();
    shown.ended(0).says("Wire open");
}

#[test]
fn the_end_of_input_puts_down_and_loses_nothing() {
    let place = Place::with(BODY);
    place.at_vehicle(&LINES[..5]).ended(4).says("Paused.");
    let events = place.events();
    assert_eq!(kinds(&events).last(), Some(&"paused"));
    assert_eq!(of_kind(&events, "sweep_read").len(), 1);
    let empty = Place::with(BODY);
    empty.call("run p.rhai").go().ended(4).says("Paused before anything was recorded.");
    assert_eq!(empty.records(), Vec::<String>::new());
}

#[test]
fn a_record_is_found_by_name_and_the_latest_without_one() {
    let place = Place::with("conclude(\"wire\");\n");
    place.call("show").go().ended(2).says("there are no records");
    place.with_answers("").ended(0);
    place.with_answers("").ended(0);
    assert_eq!(place.records(), ["2026-11-24-090000-p", "2026-11-24-090000-p-2"]);
    place.call("show 2026-11-24-090000-p").go().ended(0).says("2026-11-24-090000-p ");
    place.call("show").go().ended(0).says("2026-11-24-090000-p-2");
    place.call("show 2026-11-24-090000-q").go().ended(2).says("did you mean `2026-11-24-090000-p`?");
    place.call("show ..").go().ended(2).says("there is no record `..`");
}

#[test]
fn a_run_broken_off_at_a_caution_and_put_down_at_the_vehicles_state_is_a_good_record() {
    let body = "let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nstep(\"Crank\");\ncrank();\nlet b = read(\"b\", \"Battery\", at_least(9.6.V));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["12.6"]).ended(4);
    let path = place.journal_of(&place.record());
    let journal = std::fs::read_to_string(&path).unwrap();
    // A power cut: what nobody typed was not on disk.
    let kept = journal
        .lines()
        .take_while(|line| !line.contains("\"event\":\"step_began\",\"title\":\"Crank\""))
        .collect::<Vec<_>>();
    assert!(kept.len() < journal.lines().count() && kept.last().unwrap().contains("answered"), "{journal}");
    std::fs::write(&path, kept.join("\n") + "\n").unwrap();
    place.call("resume").typing(&["pause"]).go().ended(4);
    place.call("resume").typing(&["", "+", "", "9.9", ""]).go().ended(0);
    place.call("verify --allow-unsigned").go().ended(0);
}
