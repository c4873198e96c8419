//! The vehicle when answers are undone or a run is resumed: what is done again, waited for again, held again.

use crate::place::{LET_STAND, Place, as_format_1, kinds, of_kind, typed};
use crate::whole_run::{BODY, LINES};

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
        ["DO Plug C41 in again", "DO Turn the key on", "Reference"].map(|text| again.find(text).unwrap());
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
    assert_eq!((shown.count("DO Turn the key on"), shown.count("DO Turn the key off")), (2, 2), "{shown}");
    // Somebody turned it meanwhile, and says so: nothing is to be done for it.
    let place = Place::with(body);
    let shown = place.at_vehicle(&["", "12.6", "", "back a", "key=on", "", "12.4", "", "1", ""]).ended(0);
    assert_eq!((shown.count("DO Turn the key on"), shown.count("DO Turn the key off")), (1, 2), "{shown}");
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
    let journal = as_format_1(&std::fs::read_to_string(&path).unwrap());
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
    let journal = as_format_1(&std::fs::read_to_string(&path).unwrap());
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
    place.at_vehicle(&["", "12.6", "", "", "back a", "", "", "pause"]).ended(4).says("DO Turn the key on");
    let shown = place.call("resume").typing(&["", "", "12.4", "", "", "1", ""]).go().ended(0);
    assert_eq!((shown.count("DO Plug C41 in again"), shown.count("DO Turn the key on")), (0, 1), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn nobody_cranks_on_while_a_reading_is_taken_back_or_the_run_is_put_down() {
    let body = "crank();\nlet a = read(\"a\", \"Motor\", at_least(8.5.V));\nstop_engine();\nlet b = ask(\"b\", \"Hot?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    // The key was let go of with the reading, so it is cranked for the next one.
    let shown = place.at_vehicle(&["+", "", "9.8", "back", "", "+", "", "9.9", "pause"]).ended(4);
    assert_eq!(shown.count("DO Crank the engine"), 2, "{shown}");
    let shown = place.call("resume").typing(&["", "1"]).go();
    assert_eq!((shown.count("DO Crank the engine"), shown.count("DO Stop the engine")), (0, 0), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_was_waited_for_is_waited_for_again_on_the_way_back() {
    let body = "key_off();\nwait(40.min);\nlet a = read(\"a\", \"Draw\", at_most(50.mA));\ntake_out(\"F2\");\n\
        let b = read(\"b\", \"Draw without F2\", at_most(50.mA));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    // In tests a second passes at most: that a wait is over is said twice.
    let lines = ["", "", "+", "30", "", "+", "20", "back a", "", "", "", "", "+", "35", "", "+", "20"];
    let shown = place.to_the_end(&lines);
    let flat = shown.flat();
    assert_eq!(shown.count("The wait just started. Enter again only if it has already stood"), 2, "{shown}");
    assert!(flat.rfind("DO Wait 40 min").unwrap() > flat.find("DO Put F2 back").unwrap(), "{shown}");
    shown.ended(0);
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down between the two, it is waited for all the same, and once it is over not again.
    let place = Place::with(body);
    place.at_vehicle(&["", "", "+", "30", "", "+", "20", "back a", "", "", "pause"]).ended(4).says("DO Put F2 back");
    let shown = place.call("resume").typing(&["", "", "", "pause"]).go().ended(4);
    assert_eq!((shown.count("DO Put F2 back"), shown.count("The wait just started")), (0, 1), "{shown}");
    let shown = place.call("resume").typing(&["", "+", "35", "", "+", "20", ""]).go().ended(0);
    assert_eq!(shown.count("DO Wait 40 min"), 0, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_wait_that_is_said_to_be_over_before_its_time_is_asked_about_and_written_down() {
    let body = "wait(40.min);\nlet a = read(\"a\", \"Draw\", at_most(50.mA));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let shown = place.to_the_end(&["", "", "+", "30"]).ended(0);
    shown.says("The wait just started. Enter again only if it has already stood");
    let words = "Wait 40 min, said to be over 3 s after it was asked for";
    place.call("show").go().says(words);
    place.call("report --out report.html").go().ended(0);
    assert!(place.read("report.html").contains(words));
    place.call("report --format json").go().ended(0).says("\"cut_short_after_seconds\": 3");
    place.call("verify --allow-unsigned").go().ended(0);
    // Where nobody is at the vehicle, nobody waits.
    Place::with(body).with_answers("a = 30").ended(0).never_says("The wait just started");
}

#[test]
fn leads_go_on_before_anybody_cranks_or_holds() {
    let body = "step(\"Crank\");\ncrank();\nlet a = read(\"a\", \"Motor's voltage\", at_least(8.5.V), across(\"stud\", \"case\"));\nstop_engine();\n\
        hold(\"lights\", \"on\");\nlet b = read(\"b\", \"Drop\", at_most(0.5.V), across(\"post\", \"lamp\"));\nrelease(\"lights\");\n\
        hold(\"fan\", \"on\");\nlet c = ask(\"c\", \"Does it turn?\");\nhold(\"fan\", \"off\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let flat = place.to_the_end(&["+", "", "9.9", "", "", "210m", "", "", "1", ""]).ended(0).flat();
    let at = |words: &str| flat.find(words).unwrap_or_else(|| panic!("{words}: {flat}"));
    assert!(at("The starter turns the engine") < at("stud"), "the caution comes before the leads are put on");
    assert!(at("stud") < at("at least 8.5 V") && at("at least 8.5 V") < at("DO Crank"));
    assert!(at("lamp") < at("DO Set lights to on"));
    assert!(at("DO Set fan to on") < at("1 yes, 2 no"), "it is done before it is answered");
    assert!(at("DO Set fan to off") < at("Wire open"));
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
    assert_eq!(shown.count("DO Crank"), 1, "{shown}");
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
    let after = &after[after.find("Undone: `a` and all later answers").unwrap()..];
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
    assert_eq!(shown.count("DO Crank the engine"), 2, "{shown}");
    shown.never_says("Already done: Crank");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_somebody_held_is_asked_for_again_after_a_break() {
    let body = "hold(\"pedal\", \"half\");\nlet a = read(\"a\", \"Track 1\", between(2.V, 3.V));\nlet b = read(\"b\", \"Track 2\", between(1.V, 2.V));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["", "2.4", "pause"]).ended(4);
    let shown = place.call("resume").typing(&["", "", "1.2", ""]).go().ended(0);
    assert_eq!(shown.count("DO Set pedal to half"), 1, "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
    // Older records have nothing of it, and come out the same all the same.
    let path = place.journal_of(&place.record());
    let journal = as_format_1(&std::fs::read_to_string(&path).unwrap());
    let older: Vec<_> = journal.lines().filter(|line| !line.contains("\"back\":true")).collect();
    assert_eq!(older.len() + 1, journal.lines().count());
    std::fs::write(&path, older.join("\n") + "\n").unwrap();
    place.call("verify --allow-unsigned").go().ended(0);
    // Taken back in the same sitting, it is held still.
    let place = Place::with(body);
    let shown = place.at_vehicle(&["", "2.4", "back", "2.5", "1.2", ""]).ended(0);
    assert_eq!(shown.count("DO Set pedal to half"), 1, "{shown}");
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
        let shown = place.at_vehicle(lines).ended(code).never_says("DO Crank").never_says("DO Set lights");
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
    shown.says("not done: Turn the key on").never_says("DO Set lights");
    place.call("verify --allow-unsigned").go().ended(0);
    // What the script says before its own end is done.
    let place = Place::with("hold(\"lights\", \"off\");\nunfinished(\"too hot\");\n");
    place.at_vehicle(&[""]).ended(5).says("DO Set lights to off");
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
    assert!(flat.find("DO Turn the key off").unwrap() < flat.find("DO Unplug C41").unwrap(), "{shown}");
    place.call("verify --allow-unsigned").go().ended(0);
}
