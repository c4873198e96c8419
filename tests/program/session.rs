//! Putting down, taking up, taking back: nothing lost and nothing asked twice.

use crate::place::{LET_STAND, Place, SAFE, Shown, events, kinds, of_kind, typed};
use insta::assert_snapshot;
use serde_json::Value;

/// A bit of everything that a journal can hold.
const BODY: &str = "step(\"First\", near(\"lift\"));\nwhy(\"Because.\");\nkey_on();\n\
    let supply = read(\"supply\", \"Reference\", between(4.75.V, 5.25.V), across(\"reference\", \"ground\"));\n\
    let track = sweep(\"track\", \"Turn the shaft\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    step(\"Second\");\nkey_off();\nunplug(\"C41\");\n\
    let seen = ask(\"seen\", \"Is it corroded?\");\n\
    let how = choose(\"how\", \"What is it like?\", [\"loose\", \"tight\"]);\n\
    let words = note(\"words\", \"What else?\");\n\
    if supply.ok && track.follows && seen.no && how == \"tight\" && words.text == \"rust Ω\" { conclude(\"wire\"); }\n\
    conclude(\"part\");\n";

/// What is typed for it, with a doubt in it and a note.
const LINES: [&str; 16] = [
    "",
    "49.98",
    "4.998",
    "0.5",
    "1.5 2.5 @ x",
    "1.5 2.5",
    "3.5 @ late",
    "4.5",
    "",
    "note all dry",
    "",
    "",
    "2",
    "2",
    "rust Ω",
    "",
];

/// Answers for the same run.
const ANSWERS: &str = "supply = [\"49.98\", \"4.998\"]\ntrack = [\"0.5\", \"1.5\", \"2.5\", \"3.5 @ late\", \"4.5\"]\nseen = false\nhow = \"tight\"\nwords = \"rust Ω\"\n";

fn recorded() -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(&LINES).ended(0).says("Wire open");
    place.answers(ANSWERS);
    let journal = std::fs::read_to_string(place.journal_of(&place.record())).unwrap();
    (place, journal)
}

/// What the script brought about and what came of it, without the times and without doubts that were settled before.
fn of_the_script(events: &[Value]) -> Vec<Value> {
    events
        .iter()
        .filter(|event| {
            ["step_began", "acted", "sweep_read", "answered", "concluded"].contains(&event["event"].as_str().unwrap())
        })
        .map(|event| {
            let mut event = event.clone();
            event.as_object_mut().unwrap().remove("at");
            event
        })
        .collect()
}

/// Truncates the journal to these bytes and takes it up again from the answers file.
fn taken_up(place: &Place, record: &str, bytes: &[u8]) -> Shown {
    std::fs::write(place.journal_of(record), bytes).unwrap();
    place.call("resume --answers answers.toml").go()
}

/// Where each line of a journal ends.
fn ends_of_lines(journal: &str) -> Vec<usize> {
    journal.match_indices('\n').map(|(end, _)| end + 1).collect()
}

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
      49.98 was doubted: 4.998 V would be right: is the decimal point or the meter's
        range wrong?
      Reference: 4.998 V, in (4.75 … 5.25 V)
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
      Enter if it stands so; else what is different, as key=on or plug=C41
      >

    ────────────────────────────────────────────────────────────────────────────────
    Step 2 of up to 2: Second

    Is it corroded?
    1 yes, 2 no > 2

    What is it like?
      1  loose
      2  tight
    number > 2

    What else?
    > rust Ω

    ────────────────────────────────────────────────────────────────────────────────
    Cause:      Wire open
    Correction: Repair the wire
      Enter lets it stand, `back` answers again >
    The vehicle is left otherwise than it stood: unplugged C41.
    Record: 2026-11-24-090000-p-unit-12
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
    shown.says("Note: before a Note: before b Dry?: no Note: seal \u{fffd}torn The vehicle, as the record left it");
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
    let counts = ["→ Unplug C41", "→ Turn the key on", "→ Turn the key off", "Lower"].map(|text| shown.count(text));
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
fn one_answer_is_taken_back() {
    let place = Place::with(BODY);
    let mut lines: Vec<&str> = LINES[..13].to_vec();
    lines.extend(["back", "1", "1", "rust"]);
    place.to_the_end(&lines).ended(0).says("`seen` and all later answers are taken back").says("Part worn");
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
    place.call("show").go().ended(0).says("Taken back").says("taken back (was no verdict)");
}

#[test]
fn several_answers_across_actions_are_taken_back_and_the_vehicle_is_brought_back() {
    let place = Place::with(BODY);
    let mut lines: Vec<&str> = LINES[..13].to_vec();
    // The vehicle as it stands: key off, C41 unplugged. It is brought back to what the supply was read with, and then
    // everything from the supply on comes again.
    lines.extend(["back supply", "", "", "", "4.9", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω"]);
    let shown = place.to_the_end(&lines);
    assert_eq!(shown.code, 0, "{shown}");
    let events = place.events();
    assert_eq!(typed(&events, "supply"), ["4.998", "4.9"]);
    let struck = of_kind(&events, "struck")[0];
    assert_eq!(struck["id"], "supply");
    let resumed = of_kind(&events, "resumed")[0];
    assert_eq!((&resumed["vehicle"]["key"], &resumed["vehicle"]["unplugged"][0]), (&"off".into(), &"C41".into()));
    let confirmed = shown.flat();
    let at = confirmed.find("The vehicle, as the record left it").unwrap();
    assert!(confirmed[at..].contains("unplugged │ C41") || confirmed[at..].contains("unplugged ┆ C41"), "{shown}");
    let back = confirmed[at..].find("Bring it back").unwrap();
    let again = &confirmed[at + back..];
    let [plug, key, supply] =
        ["→ Plug C41 in again", "→ Turn the key on", "Reference"].map(|text| again.find(text).unwrap());
    assert!(plug < key && key < supply, "{shown}");
    let back: Vec<_> = of_kind(&events, "acted").into_iter().filter(|event| event["back"] == true).collect();
    assert_eq!(back.len(), 2, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_is_asked_again_is_asked_of_the_vehicle_as_it_stood_then() {
    let body = "key_on();\nlet a = read(\"a\", \"Supply\", between(12.V, 13.V));\nkey_off();\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let shown = place.at_vehicle(&["", "12.6", "", "back a", "", "", "12.4", "", "1", ""]).ended(0);
    assert_eq!((shown.count("→ Turn the key on"), shown.count("→ Turn the key off")), (2, 2), "{shown}");
    // Somebody turned it meanwhile, and says so: nothing is to be done for it.
    let place = Place::with(body);
    let shown = place.at_vehicle(&["", "12.6", "", "back a", "key=on", "", "12.4", "", "1", ""]).ended(0);
    assert_eq!((shown.count("→ Turn the key on"), shown.count("→ Turn the key off")), (1, 2), "{shown}");
    // What can only be said in words is said.
    let place = Place::with(
        "let a = ask(\"a\", \"Lights on?\");\ncarry_out(\"Switch the lights off\");\nlet b = ask(\"b\", \"Dark?\");\nconclude(\"wire\");\n",
    );
    place
        .at_vehicle(&["1", "", "back a", "", "1", "", "1", ""])
        .ended(0)
        .says("not undone by taking an answer back: Switch the lights off. Undo by hand");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_record_from_before_the_way_back_was_gone_comes_out_the_same_again() {
    let body = "key_on();\nlet a = read(\"a\", \"Supply\", between(12.V, 13.V));\nkey_off();\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["", "12.6", "", "back a", "", "", "12.4", "", "1", ""]).ended(0);
    place.call("verify --allow-unsigned").go().ended(0);
    // Then the key stayed off, and was off already when the script came to it.
    let path = place.journal_of(&place.record());
    let journal = std::fs::read_to_string(&path).unwrap();
    let mut lines: Vec<String> =
        journal.lines().filter(|line| !line.contains("\"back\":true")).map(str::to_owned).collect();
    assert_eq!(lines.len() + 1, journal.lines().count());
    let last = lines.iter().rposition(|line| line.contains("\"acted\"")).unwrap();
    lines[last] = lines[last].strip_suffix('}').unwrap().to_owned() + ",\"already\":true}";
    std::fs::write(&path, lines.join("\n") + "\n").unwrap();
    place.call("verify --allow-unsigned").go().ended(0);
    // And the vehicle was looked at again each time.
    let place = Place::with("let a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n");
    place.at_vehicle(&["1", "back", "2", "1", ""]).ended(0);
    let path = place.journal_of(&place.record());
    let journal = std::fs::read_to_string(&path).unwrap();
    let mut lines: Vec<String> = journal.lines().map(str::to_owned).collect();
    let struck = lines.iter().position(|line| line.contains("\"struck\"")).unwrap();
    let vehicle = &journal[journal.find("\"vehicle\":{").unwrap()..];
    let vehicle = &vehicle[..=vehicle.find('}').unwrap()];
    let at = lines[struck][..lines[struck].find(",\"event\"").unwrap()].to_owned();
    lines.insert(struck + 1, format!("{at},\"event\":\"resumed\",{vehicle}}}"));
    std::fs::write(&path, lines.join("\n") + "\n").unwrap();
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn putting_down_on_the_way_back_loses_nothing_of_it() {
    let body = "key_on();\nlet a = read(\"a\", \"Supply\", between(12.V, 13.V));\nkey_off();\nunplug(\"C41\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    // C41 is plugged in again, and then the run is put down before the key is turned.
    place.at_vehicle(&["", "12.6", "", "", "back a", "", "", "pause"]).ended(4).says("→ Turn the key on");
    let shown = place.call("resume").typing(&["", "", "12.4", "", "", "1", ""]).go().ended(0);
    assert_eq!((shown.count("→ Plug C41 in again"), shown.count("→ Turn the key on")), (0, 1), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
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
    shown.says("Because.").says("in quotation marks: text that begins with one of these words").says("Note: all dry");
    let shown = place.call("resume").typing(&["", "back door", "", "1", "Skip no light here", ""]).go().ended(0);
    shown.says("`door` and all later answers are taken back").says("left out: no light here").says("Wire open");
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
const SWEEP: &str = "step(\"First\");\nkey_on();\n\
    let track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    let seen = ask(\"seen\", \"Clean?\");\nif track.follows { conclude(\"wire\"); }\nconclude(\"part\");\n";

/// The readings of the sweep that stand, and those that were taken back.
fn of_the_sweep(events: &[Value]) -> (Vec<&str>, Vec<&str>) {
    let mut standing: Vec<(u64, &str)> = Vec::new();
    let mut struck = Vec::new();
    for (line, event) in (1..).zip(events) {
        match event["event"].as_str().unwrap() {
            "sweep_read" => standing.push((line, event["text"].as_str().unwrap())),
            "struck" => {
                let (at, text) = standing.pop().unwrap();
                assert_eq!((&event["from_line"], &event["reading"]), (&at.into(), &text.into()));
                struck.push(text);
            }
            _ => {}
        }
    }
    (standing.into_iter().map(|(_, text)| text).collect(), struck)
}

#[test]
fn back_within_a_sweep_takes_its_last_reading_back_and_the_sweep_goes_on() {
    let place = Place::with(SWEEP);
    let shown = place.to_the_end(&WITH_SLIPS[..8]).ended(4);
    shown.says("4 V > back the reading 5.9 of `track` is taken back 3 V > 2.5 4 V >");
    let shown = place.call("resume").typing(&WITH_SLIPS[8..]).go().ended(0);
    shown
        .says("the reading 5.8 of `track` is taken back 5 V > BACK the reading 5.7 of `track` is taken back 4 V > 3.5")
        .says("Wire open");
    let events = place.events();
    assert_eq!(of_the_sweep(&events), (vec!["0.5", "1.5", "2.5", "3.5", "4.5"], vec!["5.9", "5.8", "5.7"]));
    assert_eq!(of_kind(&events, "answered")[0]["readings"], 5);
    place.call("show").go().ended(0).says("Taken back 2026-11-24 09:00: the reading 5.9 of `track`").says("5 readings");
    place.call("report --format json").go().ended(0).says("\"reading\": \"5.9\"");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_run_killed_after_any_line_of_a_sweep_with_readings_taken_back_goes_on_where_it_was() {
    let place = Place::with(SWEEP);
    place.to_the_end(&WITH_SLIPS[..8]).ended(4);
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
    place
        .call("run p.rhai --bench flap_sensor --fault none --seed 3")
        .typing(&["", "", "", ""])
        .go()
        .ended(0)
        .says("Wire open");
    let record = place.record();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let whole = of_the_script(&events(&journal));
    let ends = ends_of_lines(&journal);
    for end in &ends[1..ends.len() - 1] {
        std::fs::write(place.journal_of(&record), &journal[..*end]).unwrap();
        let shown = place.call("resume").typing(&["", "", ""]).go();
        assert_eq!(of_the_script(&place.events()), whole, "{shown}");
    }
}

#[test]
fn a_sweep_on_the_bench_is_typed_by_hand_to_its_end() {
    let place = Place::with(
        "key_on();\nlet track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"flap\"));\nconclude(\"wire\");\n",
    );
    let call = place.call("run p.rhai --bench flap_sensor --fault none --seed 3");
    call.typing(&["", "0.5", "2.5", "back", "4.5", "", ""])
        .go()
        .ended(0)
        .says("the reading 2.5 of `track` is taken back");
    assert_eq!(of_the_sweep(&place.events()).0, ["0.5", "4.5"]);
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
fn a_run_that_waits_is_answered_by_a_person() {
    let place = Place::with(BODY);
    place.with_answers("supply = \"4.998\"\n").ended(4).says("Waits for `track` (Turn the shaft)");
    place.call("show").go().ended(0).says("Waits for `track`: Turn the shaft");
    let shown = place.call("resume").typing(&["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω", ""]).go();
    shown.ended(0).says("Wire open");
}

#[test]
fn nothing_is_ever_answered_by_default() {
    let place = Place::with(BODY);
    place.with_answers("").ended(4).says("Waits for `supply`");
    assert_eq!(of_kind(&place.events(), "answered").len(), 0);
}

#[test]
fn the_end_of_input_puts_down_and_loses_nothing() {
    let place = Place::with(BODY);
    place.at_vehicle(&LINES[..5]).ended(4).says("Put down.");
    let events = place.events();
    assert_eq!(kinds(&events).last(), Some(&"paused"));
    assert_eq!(of_kind(&events, "sweep_read").len(), 1);
    let empty = Place::with(BODY);
    empty.call("run p.rhai").go().ended(4).says("Put down before anything was recorded.");
    assert_eq!(empty.records(), Vec::<String>::new());
}

#[test]
fn two_at_once_can_not_write_one_record() {
    let place = Place::with(BODY);
    place.at_vehicle(&["pause"]).ended(4);
    let record = place.record();
    let mut first = place
        .call("resume")
        .command()
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    // It has the record once it shows the vehicle.
    let mut seen = Vec::new();
    let out = first.stdout.as_mut().unwrap();
    while !String::from_utf8_lossy(&seen).contains("as the record left it") {
        let mut byte = [0];
        assert_eq!(std::io::Read::read(out, &mut byte).unwrap(), 1, "it ended early");
        seen.extend(byte);
    }
    let before = std::fs::read(place.journal_of(&record)).unwrap();
    let second = place.call("resume").typing(&LINES).go();
    assert_snapshot!(second, @"
    exit 6
    --- stderr
    error: the record 2026-11-24-090000-p-unit-12 is in use by another process
    help: end it there first, or put it down with `pause`: one process writes at
      a time
    ");
    assert_eq!(std::fs::read(place.journal_of(&record)).unwrap(), before);
    place.call("show").go().ended(0);
    first.kill().unwrap();
    first.wait().unwrap();
    let mut lines = vec![""];
    lines.extend(LINES);
    place.call("resume").typing(&lines).go().ended(0).says("Wire open");
}

/// Begun, then put down after the supply was read.
fn put_down_then_edited(edited: &str) -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(&["", "4.998", "pause"]).ended(4);
    let record = place.record();
    place.procedure(edited);
    (place, record)
}

#[test]
fn an_edited_procedure_is_explained_entry_by_entry() {
    // Another wording and wider limits ask the same; another point does not.
    let (place, _) = put_down_then_edited(&BODY.replace("\"Reference\"", "\"The reference\"").replace("4.75", "4.5"));
    assert_snapshot!(place.call("resume").go(), @r#"
    exit 2
    --- stdout
    2026-11-24-090000-p-unit-12 was begun with another procedure than there is now.
    ┌────────┬──────────┬─────────────────────────┐
    │ id     ┆ recorded ┆ in the edited procedure │
    ╞════════╪══════════╪═════════════════════════╡
    │ supply ┆ 4.998 V  ┆ carried over            │
    └────────┴──────────┴─────────────────────────┘
    It would go on with `track`: Turn the shaft
    --- stderr
    error: say how to go on
    help: `--new-run` begins a linked new run with the edited procedure,
      `--kept-copy` finishes on the copy that was kept
    "#);
    let (place, _) = put_down_then_edited(&BODY.replace("\"reference\"", "\"battery\""));
    assert_snapshot!(place.call("resume").go(), @r#"
    exit 2
    --- stdout
    2026-11-24-090000-p-unit-12 was begun with another procedure than there is now.
    ┌────────┬──────────┬──────────────────────────────────────────────────────────┐
    │ id     ┆ recorded ┆ in the edited procedure                                  │
    ╞════════╪══════════╪══════════════════════════════════════════════════════════╡
    │ supply ┆ 4.998 V  ┆ not carried over: no longer asked at this point with the │
    │        ┆          ┆ same quantity, points and vehicle state                  │
    └────────┴──────────┴──────────────────────────────────────────────────────────┘
    It would go on with `supply`: Reference
    --- stderr
    error: say how to go on
    help: `--new-run` begins a linked new run with the edited procedure,
      `--kept-copy` finishes on the copy that was kept
    "#);
    let (place, _) = put_down_then_edited(&BODY.replace("\"supply\"", "\"other\""));
    place.call("resume").go().ended(2).says("supply").says("not carried over");
}

#[test]
fn without_a_terminal_and_without_a_word_nothing_is_chosen() {
    let (place, record) = put_down_then_edited(&BODY.replace("4.75", "4.5"));
    let before = std::fs::read(place.journal_of(&record)).unwrap();
    place.call("resume").typing(&["1", "2"]).go().ended(2).says("--new-run").says("--kept-copy");
    assert_eq!(std::fs::read(place.journal_of(&record)).unwrap(), before);
    assert_eq!(place.records(), [record]);
}

#[test]
fn a_new_run_with_the_edited_procedure_is_linked_and_takes_over_what_fits() {
    let (place, record) = put_down_then_edited(&BODY.replace("4.75", "4.5"));
    let shown = place.call("resume --new-run").typing(&["", "", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω"]).go();
    let records = place.records();
    assert_eq!(records.len(), 2, "{shown}");
    let new = records.iter().find(|name| **name != record).unwrap();
    let events = place.events_of(new);
    let link = &events[0]["link"];
    assert_eq!((&link["kind"], &link["record"]), (&"edited_procedure".into(), &record.as_str().into()));
    let supply = of_kind(&events, "answered")[0];
    assert_eq!(
        (&supply["id"], &supply["carried"], &supply["typed"]),
        (&"supply".into(), &true.into(), &"4.998".into())
    );
    assert_eq!(shown.count("V > 4.998"), 0, "asked again\n{shown}");
    place.call("show").and(&[new]).go().ended(0).says("edited procedure, begun as").says("(earlier record)");
}

#[test]
fn a_new_run_begins_with_the_vehicle_as_it_was_left_and_shows_it() {
    let body = "raise_lift();\nlet a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["+", "", "1", "pause"]).ended(4);
    let record = place.record();
    place.procedure(&body.replace("raise_lift();", "step(\"Under it\", near(\"lift\"));"));
    let shown = place.call("resume --new-run").typing(&["", "+", "1", "1", ""]).go();
    shown.ended(0).says("as the record left it").says("Set the lift's locks");
    let new = place.records().into_iter().find(|name| *name != record).unwrap();
    let events = place.events_of(&new);
    assert_eq!(events[0]["vehicle"]["lift"], "raised");
    assert_eq!(of_kind(&events, "cautioned")[0]["cautions"][0]["id"], "raised_vehicle");
}

#[test]
fn an_edited_procedure_is_finished_on_the_copy_that_was_kept() {
    let (place, record) = put_down_then_edited("conclude(\"part\");\n");
    let shown = place.call("resume --kept-copy").typing(&["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω", ""]).go();
    shown.ended(0).says("Wire open");
    assert_eq!(place.records(), [record]);
}

#[test]
fn an_edited_procedure_that_is_broken_does_not_stand_in_the_way_of_the_kept_copy() {
    let (place, _) = put_down_then_edited("conclude(\n");
    place.call("resume").go().ended(2).says("p.rhai:6:11").says("mend it, or finish on the copy that was kept");
    place
        .call("resume --kept-copy")
        .typing(&["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω", ""])
        .go()
        .ended(0)
        .says("Wire open");
}

#[test]
fn what_is_gone_of_a_procedure_is_said_when_a_run_is_finished_on_the_kept_copy() {
    let place = Place::new();
    let rest = ["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω"];
    let gone = "is no longer there; the run is finished on the copy that was kept with it.";
    place.procedure(BODY);
    place.at_vehicle(&["", "4.998", "pause"]).ended(4);
    std::fs::rename(place.path("p.rhai"), place.path("q.rhai")).unwrap();
    let shown = place.call("resume").typing(&rest).typing(&LET_STAND).go().ended(0).says("Wire open");
    shown.says(&format!("The procedure p.rhai {gone}"));

    // In a shop, by name: the procedure, a library file, the circuit.
    for (file, what) in [
        ("procedures/lamp.rhai", "The procedure [folder]/procedures/lamp.rhai"),
        ("library/again.rhai", "The library file again"),
        ("circuits/own.toml", "The circuit own"),
    ] {
        let place = Place::new();
        place.file("shop.toml", "name = \"A shop\"\n");
        place.file(
            "library/again.rhai",
            "//! title = \"Again\"\n//! revision = 1\nfn look() { ask(\"seen\", \"Is it dark?\") }\n",
        );
        place.file("circuits/own.toml", include_str!("../../procedures/circuits/flap_sensor.toml"));
        place.file(
            "procedures/lamp.rhai",
            "//! title = \"Lamp\"\n//! revision = 1\n//! uses = [\"again\"]\n//! circuit = \"own\"\n//! [causes]\n\
             //! lamp = { cause = \"Lamp burnt out\", correction = \"Replace it\" }\n\
             let dry = ask(\"dry\", \"Is it dry?\");\nagain::look();\nconclude(\"lamp\");\n",
        );
        place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\n");
        let mut call = place.call("run lamp --job job.toml");
        for state in SAFE {
            call = call.and(&["--state", state]);
        }
        call.typing(&["1", "pause"]).go().ended(4);
        place.call("resume").typing(&["pause"]).go().ended(4).never_says("no longer there");
        std::fs::remove_file(place.path(file)).unwrap();
        let shown = place.call("resume").typing(&["", "1", ""]).go();
        assert_eq!(shown.code, 0, "{shown}");
        shown.says(&format!("{what} {gone}")).says("Lamp burnt out");
    }
}

#[test]
fn a_procedure_that_failed_is_mended_and_taken_up() {
    let place =
        Place::with("let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nif a > 5 { conclude(\"wire\"); }\n");
    place.at_vehicle(&["12.6"]).ended(3).says("can't compare").says("once the procedure is mended");
    let record = place.record();
    place.call("show").go().ended(0).says("The procedure has an error: p.rhai:7");
    place.procedure("let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nif a > 5.V { conclude(\"wire\"); }\n");
    place.call("resume --new-run").typing(&["", "", ""]).go().ended(0).says("Wire open");
    assert_eq!(place.records().len(), 2);
    assert!(place.records().contains(&record));
}

#[test]
fn a_kept_copy_that_was_changed_is_not_believed() {
    let (place, record) = put_down_then_edited("conclude(\"part\");\n");
    let digest = place.events_of(&record)[0]["sources"][0]["sha256"].as_str().unwrap().to_owned();
    place.file(&format!("records/sources/{digest}"), "//! title = \"Forged\"\n");
    place.call("resume --kept-copy").go().ended(3).says("the kept copy of p.rhai was changed");
    std::fs::remove_file(place.path(&format!("records/sources/{digest}"))).unwrap();
    place.call("resume --kept-copy").go().ended(7);
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
fn a_whole_run_at_the_vehicle_is_shown() {
    let (place, _) = recorded();
    assert_snapshot!(place.call("show").go().ended(0), @"
    exit 0
    --- stdout
    Test (revision 1)
    ┌─────────────┬────────────────────────────────────────────────────────────────┐
    │ record      ┆ 2026-11-24-090000-p-unit-12                                    │
    │ began       ┆ 2026-11-24 09:00 UTC                                           │
    │ vehicle     ┆ Unit 12                                                        │
    │ stood       ┆ key off, engine stopped, vehicle down, wheels chocked, battery │
    │             ┆ connected, high-voltage system absent                          │
    │ left        ┆ unplugged C41                                                  │
    │ technician  ┆ A. Tester                                                      │
    │ meter       ┆ none named; how sure the verdicts are is not known             │
    │ answered by ┆ a person at the vehicle                                        │
    │ clock       ┆ set by hand                                                    │
    └─────────────┴────────────────────────────────────────────────────────────────┘

    Step: First (near lift)
      Done: Turn the key on, engine not running (2026-11-24 09:00)
    ┌─────────────────────┬────────────┬─────────────────────┬─────────────────────┐
    │ question            ┆    reading ┆ limits              ┆ verdict             │
    ╞═════════════════════╪════════════╪═════════════════════╪═════════════════════╡
    │ Reference (supply)  ┆    4.998 V ┆ 4.75 … 5.25 V       ┆ in; first typed     │
    │ red: reference      ┆            ┆                     ┆ 49.98: 4.998 V      │
    │ black: ground       ┆            ┆                     ┆ would be right: is  │
    │                     ┆            ┆                     ┆ the decimal point   │
    │                     ┆            ┆                     ┆ or the meter's      │
    │                     ┆            ┆                     ┆ range wrong?        │
    │ Turn the shaft      ┆ 5 readings ┆ 0.5 … 4.5 (ends ±   ┆ follows, 0.5 V …    │
    │ (track)             ┆            ┆ 0.4) V              ┆ 4.5 V               │
    │ red: signal         ┆            ┆                     ┆                     │
    │ black: ground       ┆            ┆                     ┆                     │
    └─────────────────────┴────────────┴─────────────────────┴─────────────────────┘
      In order: 0.5 V, 1.5 V, 2.5 V, 3.5 V at late, 4.5 V.

    Step: Second
      Note: all dry
      Done: Turn the key off (2026-11-24 09:00)
      Done: Unplug C41 (2026-11-24 09:00)
    ┌────────────────────────┬─────────┬────────┬─────────┐
    │ question               ┆ reading ┆ limits ┆ verdict │
    ╞════════════════════════╪═════════╪════════╪═════════╡
    │ Is it corroded? (seen) ┆      no ┆        ┆         │
    │ What is it like? (how) ┆   tight ┆        ┆         │
    │ What else? (words)     ┆  rust Ω ┆        ┆         │
    └────────────────────────┴─────────┴────────┴─────────┘

    Cause:      Wire open
    Correction: Repair the wire
    ");
}

#[test]
fn states_and_flags_that_nobody_knows_are_refused() {
    let place = Place::with(BODY);
    for (state, words) in [
        ("kye=off", "did you mean `key`?"),
        ("key=of", "`of` is not a state that is known here"),
        ("key", "write it as key=off"),
        ("ran=yesterday", "write how many minutes ago"),
        ("ran=-5", "write how many minutes ago"),
        ("ran=99999999999999999999", "write how many minutes ago"),
    ] {
        place.run_at_vehicle(&[state]).go().ended(2).says(words);
    }
    place.run_at_vehicle(&SAFE).and(&["--verified", "perhaps"]).go().ended(2).says("--verified is yes or no");
    place
        .run_at_vehicle(&SAFE)
        .variable("OHMWRIGHT_CLOCK", "noon")
        .go()
        .ended(2)
        .says("OHMWRIGHT_CLOCK=noon is no time");
    place.call("run nowhere").go().ended(2).says("there is no procedure `nowhere`");
    place.call("run nowhere.rhai").go().ended(7).says("nowhere.rhai");
    place.call("run").go().ended(2);
    place.call("rnu").go().ended(2).says("unrecognized subcommand 'rnu'");
    assert_eq!(place.records(), Vec::<String>::new());
}

#[test]
fn the_job_is_asked_for_where_it_is_not_known_and_stands_in_the_record() {
    let place = Place::with("conclude(\"wire\");\n");
    let lines = [
        "Unit 7",
        "81 000 km",
        "Flap hums",
        "1",
        "P0001 P0002",
        "A. Tester",
        "dry, 4 °C",
        "1",
        "1",
        "",
        "1",
        "1",
        "1",
        "1",
    ];
    let shown = place.call("run p.rhai").typing(&lines).typing(&LET_STAND).go().ended(0);
    assert_snapshot!(shown, @r#"
    exit 0
    --- stdout
    Test (revision 1)
    What is known of the job (Enter leaves one out):
      vehicle or unit: Unit 7
      odometer, with its unit: 81 000 km
      concern, in the customer's words: Flap hums
      seen happening? 1 yes, 2 no: 1
      trouble codes, with spaces between: P0001 P0002
      technician: A. Tester
      weather and temperature: dry, 4 °C
    How the vehicle stands (Enter: not known, which counts as hazardous):
      key: 1 off, 2 accessory, 3 on > 1
      engine: 1 stopped, 2 running > 1
      engine stopped how many minutes ago? >
      vehicle: 1 down, 2 raised > 1
      wheels (chocked: out of gear and brake on, too): 1 chocked, 2 free > 1
      battery: 1 connected, 2 disconnected > 1
      high-voltage system: 1 absent, 2 present > 1

    At every question: why, back, skip, note, pause, help. Enter alone says that
    something is done.

    ────────────────────────────────────────────────────────────────────────────────
    Cause:      Wire open
    Correction: Repair the wire
      Enter lets it stand, `back` answers again >
    Record: 2026-11-24-090000-p-unit-7
    "#);
    // A slip is mended before the run begins, and nothing is swallowed.
    let slipped = [
        "help", "Unit 8", "81 km", "back", "82 km", "Hums", "maybe", "2", "", "", "", "1", "1", "", "1", "1", "1", "1",
    ];
    let shown = place.call("run p.rhai").typing(&slipped).typing(&LET_STAND).go().ended(0);
    shown.says("back goes to the question before").says("`maybe` is neither yes nor no");
    let slipped = place.records().into_iter().find(|name| name.contains("unit-8")).unwrap();
    let job = &place.events_of(&slipped)[0]["job"];
    assert_eq!((&job["odometer"], &job["verified"]), (&"82 km".into(), &false.into()));
    let record = place.records().into_iter().find(|name| name.contains("unit-7")).unwrap();
    let job = place.events_of(&record)[0]["job"].clone();
    assert_eq!(job["codes"], serde_json::json!(["P0001", "P0002"]));
    assert_eq!((&job["verified"], &job["odometer"]), (&true.into(), &"81 000 km".into()));
    let place = Place::with("conclude(\"wire\");\n");
    place.file("job.toml", "[job]\nvehicel = \"x\"\n");
    place.call("run p.rhai --job job.toml").go().ended(3).says("vehicel");
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
        .map(|event| (event["id"].clone(), event["yes"].clone(), event["carried"].clone()))
        .collect();
    let (yes, no) = (Value::from(true), Value::from(false));
    assert_eq!(
        answers,
        [("a".into(), yes.clone(), yes.clone()), ("a".into(), no, Value::Null), ("b".into(), yes, Value::Null)],
        "{shown}"
    );
}

#[test]
fn a_sweep_of_which_a_simulated_circuit_shows_too_little_is_left_to_the_person() {
    let place = Place::with(
        "let t = sweep(\"t\", \"Turn it\", ends(0.V, 12.V), across(\"battery_positive\", \"battery_negative\"), moving(\"knob\"));\n\
         conclude(\"wire\");\n",
    );
    // The circuit has nothing that moves: its meter shows one value, which is no sweep.
    let call = place.run_at_vehicle(&[]).and(&["--bench", "data_bus", "--fault", "none"]);
    call.typing(&["", "6", "0.1", "", ""]).go().without_panic().ended(0).says("Wire open");
    let events = place.events();
    assert_eq!(of_kind(&events, "sweep_read").len(), 3);
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
fn why_a_run_was_not_finished_is_withheld_with_the_notes_whoever_put_it_into_words() {
    let asked = "let words = note(\"words\", \"What else?\");\n";
    let bodies = [
        (format!("{asked}unfinished(\"it can't be reached: \" + words.text);\n"), "the boot is torn"),
        ("unplug(\"C41\");\nconclude(\"wire\");\n".to_owned(), "skip the boot is torn"),
        (
            "if read(\"supply\", \"Supply\", at_least(12.V)).ok { conclude(\"wire\"); }\nconclude(\"part\");\n"
                .to_owned(),
            "skip the boot is torn",
        ),
    ];
    for (body, typed) in bodies {
        let place = Place::with(&body);
        place.at_vehicle(&[typed, "2"]).ended(5).says("the boot is torn");
        for format in ["text", "json", "csv"] {
            let call = place.call("report --without notes --format").and(&[format]);
            call.go().ended(0).never_says("the boot is torn");
        }
        let shown = place.call("report --without notes --format text").go().ended(0);
        shown.says("left out of this report");
        place.call("report --format text").go().ended(0).says("the boot is torn");
        place.call("verify --allow-unsigned").go().ended(0);
    }
}

#[test]
fn nobody_cranks_on_while_a_reading_is_taken_back_or_the_run_is_put_down() {
    let body = "crank();\nlet a = read(\"a\", \"Motor\", at_least(8.5.V));\nstop_engine();\nlet b = ask(\"b\", \"Hot?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    // Back at the action that stops it: nothing was done since the reading, and yet it is cranked for the next one.
    let shown = place.at_vehicle(&["+", "", "9.8", "back", "+", "", "9.9", "pause"]).ended(4);
    assert_eq!(shown.count("→ Crank the engine"), 2, "{shown}");
    let shown = place.call("resume").typing(&["", "", "1"]).go();
    assert_eq!((shown.count("→ Crank the engine"), shown.count("→ The starter rests again")), (0, 1), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_is_concluded_from_a_slip_is_taken_back_before_it_stands() {
    let body =
        "let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nif a.ok { conclude(\"wire\"); }\nconclude(\"part\");\n";
    let place = Place::with(body);
    let lines = ["18", "help", "skip it", "note hand slipped", "what", "back", "12.6"];
    let shown = place.to_the_end(&lines).ended(0);
    shown
        .says("Part worn")
        .says("`a` and all later answers are taken back")
        .says("Wire open")
        .says("nothing is asked here");
    let events = place.events();
    assert_eq!(typed(&events, "a"), ["18", "12.6"]);
    assert_eq!(of_kind(&events, "concluded").len(), 1, "what was taken back was never concluded");
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down there, it is shown again; the end of input is no assent.
    let place = Place::with(body);
    place.at_vehicle(&["18"]).ended(4).says("Part worn").says("Put down.");
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
    shown
        .says("the reading 49.98 of `b` is taken back")
        .says("the reading -5.0 of `b` is taken back")
        .says("Wire open");
    let events = place.events();
    assert_eq!((typed(&events, "a"), typed(&events, "b")), (vec!["12.6".to_owned()], vec!["4.998".to_owned()]));
    assert_eq!(of_kind(&events, "doubted").len(), 2, "both are kept");
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down behind it, it is not asked about again.
    let place = Place::with(body);
    place.at_vehicle(&["12.6", "49.98", "back", "pause"]).ended(4);
    place.call("resume").typing(&["", "4.998", ""]).go().ended(0).never_says("Enter keeps it");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_was_waited_for_is_waited_for_again_on_the_way_back() {
    let body = "key_off();\nwait(40.min);\nlet a = read(\"a\", \"Draw\", at_most(50.mA));\ntake_out(\"F2\");\n\
        let b = read(\"b\", \"Draw without F2\", at_most(50.mA));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    // In tests a second passes at most: that a wait is over is said twice.
    let lines = ["", "", "30", "", "20", "back a", "", "", "", "", "35", "", "20"];
    let shown = place.to_the_end(&lines);
    let flat = shown.flat();
    assert_eq!(shown.count("It was asked for 1 s ago."), 2, "{shown}");
    assert!(flat.rfind("→ Wait 40 min").unwrap() > flat.find("→ Put F2 back").unwrap(), "{shown}");
    shown.ended(0);
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down between the two, it is waited for all the same, and once it is over not again.
    let place = Place::with(body);
    place.at_vehicle(&["", "", "30", "", "20", "back a", "", "", "pause"]).ended(4).says("→ Put F2 back");
    let shown = place.call("resume").typing(&["", "", "", "pause"]).go().ended(4);
    assert_eq!((shown.count("→ Put F2 back"), shown.count("It was asked for")), (0, 1), "{shown}");
    let shown = place.call("resume").typing(&["", "35", "", "20", ""]).go().ended(0);
    assert_eq!(shown.count("→ Wait 40 min"), 0, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_wait_that_is_said_to_be_over_before_its_time_is_asked_about_and_written_down() {
    let body = "wait(40.min);\nlet a = read(\"a\", \"Draw\", at_most(50.mA));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let shown = place.to_the_end(&["", "", "30"]).ended(0);
    shown.says("It was asked for 1 s ago. Enter again if it stood so long already; else wait first.");
    let words = "Wait 40 min, said to be over 2 s after it was asked for";
    place.call("show").go().says(words);
    place.call("report --out report.html").go().ended(0);
    assert!(place.read("report.html").contains(words));
    place.call("report --format json").go().ended(0).says("\"cut_short_after_seconds\": 2");
    place.call("verify --allow-unsigned").go().ended(0);
    // Where nobody is at the vehicle, nobody waits.
    Place::with(body).with_answers("a = 30").ended(0).never_says("asked for");
}

#[test]
fn leads_go_on_before_anybody_cranks_or_holds() {
    let body = "step(\"Crank\");\ncrank();\nlet a = read(\"a\", \"Motor's voltage\", at_least(8.5.V), across(\"stud\", \"case\"));\nstop_engine();\n\
        hold(\"lights\", \"on\");\nlet b = read(\"b\", \"Drop\", at_most(0.5.V), across(\"post\", \"lamp\"));\nrelease(\"lights\");\n\
        hold(\"fan\", \"on\");\nlet c = ask(\"c\", \"Does it turn?\");\nhold(\"fan\", \"off\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let flat = place.to_the_end(&["+", "", "9.9", "", "", "210m", "", "", "1", ""]).ended(0).flat();
    let at = |words: &str| flat.find(words).unwrap_or_else(|| panic!("{words}: {flat}"));
    assert!(at("Chock the wheels") < at("stud"), "the caution comes before the leads are put on");
    assert!(at("stud") < at("at least 8.5 V") && at("at least 8.5 V") < at("→ Crank"));
    assert!(at("lamp") < at("→ Set lights: on"));
    assert!(at("→ Set fan: on") < at("Does it turn?"), "no leads, no other order");
    assert!(at("→ Set fan: off") < at("Wire open"));
    // On disk the order is that of the script, and the run is judged the same.
    let events = place.events();
    let order: Vec<_> = kinds(&events).into_iter().filter(|kind| ["acted", "answered"].contains(kind)).collect();
    assert_eq!(order, ["acted", "answered", "acted", "acted", "answered", "acted", "acted", "answered", "acted"]);
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down at the crank, nothing was cranked; taken up, it is asked for once.
    let place = Place::with(body);
    place.at_vehicle(&["+", "pause"]).ended(4);
    assert_eq!(of_kind(&place.events(), "acted").len(), 0);
    let lines = ["", "+", "", "9.9", "", "", "210m", "", "", "1", "", ""];
    let shown = place.call("resume").typing(&lines).go().ended(0);
    assert_eq!(shown.count("→ Crank"), 1, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_was_said_of_the_vehicle_is_not_forgotten_with_an_answer_that_is_taken_back() {
    let body = "step(\"One\", near(\"lift\"));\nlet a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["1", "pause"]).ended(4);
    // It was raised over lunch; the answer from before is taken back, and it is still raised.
    let lines = ["lift=raised", "", "+", "back a", "", "+", "1", "1"];
    let shown = place.call("resume").typing(&lines).typing(&LET_STAND).go().ended(0);
    let after = shown.flat();
    let after = &after[after.find("`a` and all later answers are taken back").unwrap()..];
    assert!(after.contains("│ vehicle ┆ raised │"), "{shown}");
    assert_eq!(of_kind(&place.events(), "resumed").len(), 2);
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn the_starter_that_rests_while_an_answer_is_taken_back_is_cranked_again() {
    let body = "key_on();\nlet q = ask(\"q\", \"Hot?\");\ncrank();\nlet a = read(\"a\", \"Battery\", at_least(9.6.V));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let lines = ["", "1", "+", "", "back", "", "1", "+", "", "9.9", ""];
    let shown = place.at_vehicle(&lines).ended(0);
    assert_eq!(shown.count("→ Crank the engine"), 2, "{shown}");
    shown.never_says("Already so: Crank");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_somebody_held_is_asked_for_again_after_a_break() {
    let body = "hold(\"pedal\", \"half\");\nlet a = read(\"a\", \"Track 1\", between(2.V, 3.V));\nlet b = read(\"b\", \"Track 2\", between(1.V, 2.V));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["", "2.4", "pause"]).ended(4);
    let shown = place.call("resume").typing(&["", "", "1.2", ""]).go().ended(0);
    assert_eq!(shown.count("→ Set pedal: half"), 1, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
    // Older records have nothing of it, and come out the same all the same.
    let path = place.journal_of(&place.record());
    let journal = std::fs::read_to_string(&path).unwrap();
    let older: Vec<_> = journal.lines().filter(|line| !line.contains("\"back\":true")).collect();
    assert_eq!(older.len() + 1, journal.lines().count());
    std::fs::write(&path, older.join("\n") + "\n").unwrap();
    place.call("verify --allow-unsigned").go().ended(0);
    // Taken back in the same sitting, it is held still.
    let place = Place::with(body);
    let shown = place.at_vehicle(&["", "2.4", "back", "2.5", "1.2", ""]).ended(0);
    assert_eq!(shown.count("→ Set pedal: half"), 1, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_waited_for_a_reading_is_not_done_where_the_run_ends_before_it() {
    for (body, lines, code) in [
        // The last question was left out, and the script wants to know of it.
        (
            "let a = read(\"a\", \"Supply\", at_least(9.6.V));\ncrank();\nif a.low { conclude(\"wire\"); }\n",
            &["skip no light", "2"][..],
            5,
        ),
        // An error of the script.
        ("crank();\nlet a = 5.V + 3.A;\n", &[][..], 3),
    ] {
        let place = Place::with(body);
        let shown = place.at_vehicle(lines).ended(code).never_says("→ Crank").never_says("→ Set lights");
        let events = place.events();
        let ended = events.last().unwrap();
        assert_eq!(ended["event"], "ended", "{shown}");
        if code == 5 {
            place.call("verify --allow-unsigned").go().ended(0);
        }
    }
    // Nor is what comes after a way back that nobody goes.
    let place = Place::with(
        "key_on();\nlet a = read(\"a\", \"Supply\", at_least(9.6.V));\nhold(\"lights\", \"on\");\nlet b = read(\"b\", \"Lamp\", at_least(9.6.V));\n",
    );
    place.at_vehicle(&["", "12.6", "pause"]).ended(4);
    let shown = place.call("resume").typing(&["key=off", "", "skip the key is broken", "2"]).go().ended(5);
    shown.says("not done: Turn the key on").never_says("→ Set lights");
    place.call("verify --allow-unsigned").go().ended(0);
    // What the script says before its own end is done.
    let place = Place::with("hold(\"lights\", \"off\");\nunfinished(\"too hot\");\n");
    place.at_vehicle(&[""]).ended(5).says("→ Set lights: off");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn back_at_the_last_thing_to_do_runs_the_script_again() {
    let body = "let a = read(\"a\", \"Supply\", at_least(9.6.V));\nhold(\"lights\", \"off\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["12.6", "back", "12.5", ""]).ended(5).says("12.5 V: in");
    assert_eq!(typed(&place.events(), "a"), ["12.6", "12.5"]);
    place.call("verify --allow-unsigned").go().ended(0);
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

#[test]
fn what_is_to_be_done_is_asked_of_the_vehicle_as_the_script_has_it() {
    let place = Place::with(
        "key_on();\nkey_off();\nunplug(\"C41\");\nlet a = read(\"a\", \"Supply\", at_least(9.6.V));\nconclude(\"wire\");\n",
    );
    place.at_vehicle(&["", "", "pause"]).ended(4);
    let shown = place.call("resume").typing(&["key=on", "", "", "", "12.6", ""]).go().ended(0);
    let flat = shown.flat();
    assert!(flat.find("→ Turn the key off").unwrap() < flat.find("→ Unplug C41").unwrap(), "{shown}");
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
    shown.says("The procedure can't go on without it.").says("1 ask for it again, 2 end it there").says("Type 1 or 2");
    place.call("verify --allow-unsigned").go().ended(0);
    let place = Place::with("key_on();\nlet a = read(\"a\", \"Supply\", at_least(9.6.V));\nconclude(\"wire\");\n");
    place
        .at_vehicle(&["skip key broken", "2"])
        .ended(5)
        .says("not done: Turn the key on, engine not running (key broken)");
    place.call("verify --allow-unsigned").go().ended(0);
}
