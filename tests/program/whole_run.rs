//! A run with a bit of everything in it, on which several tests build.

use crate::place::{Place, Shown};
use insta::assert_snapshot;
use serde_json::Value;

/// A bit of everything that a journal can hold.
pub const BODY: &str = "step(\"First\", near(\"lift\"));\nwhy(\"Because.\");\nkey_on();\n\
    let supply = read(\"supply\", \"Reference\", between(4.75.V, 5.25.V), across(\"reference\", \"ground\"));\n\
    let track = sweep(\"track\", \"Turn the shaft\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    step(\"Second\");\nkey_off();\nunplug(\"C41\");\n\
    let seen = ask(\"seen\", \"Is it corroded?\");\n\
    let how = choose(\"how\", \"What is it like?\", [\"loose\", \"tight\"]);\n\
    let words = note(\"words\", \"What else?\");\n\
    if supply.ok && track.follows && seen.no && how == \"tight\" && words.text == \"rust Ω\" { conclude(\"wire\"); }\n\
    conclude(\"part\");\n";

/// What is typed for it, with a doubt in it and a note.
pub const LINES: [&str; 16] = [
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
pub const ANSWERS: &str = "supply = [\"49.98\", \"4.998\"]\ntrack = [\"0.5\", \"1.5\", \"2.5\", \"3.5 @ late\", \"4.5\"]\nseen = false\nhow = \"tight\"\nwords = \"rust Ω\"\n";

pub fn recorded() -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(&LINES).ended(0).says("Wire open");
    place.answers(ANSWERS);
    let journal = std::fs::read_to_string(place.journal_of(&place.record())).unwrap();
    (place, journal)
}

/// What the script brought about and what came of it, without the times and without doubts that were settled before.
pub fn of_the_script(events: &[Value]) -> Vec<Value> {
    events
        .iter()
        .filter(|event| {
            ["step_began", "acted", "sweep_read", "answered", "concluded"].contains(&event["event"].as_str().unwrap())
        })
        .map(|event| {
            let mut event = event.clone();
            event.as_object_mut().unwrap().remove("at");
            // Whoever goes on may be another than who began.
            event.as_object_mut().unwrap().remove("origin");
            event
        })
        .collect()
}

/// Truncates the journal to these bytes and takes it up again from the answers file.
pub fn taken_up(place: &Place, record: &str, bytes: &[u8]) -> Shown {
    std::fs::write(place.journal_of(record), bytes).unwrap();
    place.call("resume --answers answers.toml").go()
}

/// Where each line of a journal ends.
pub fn ends_of_lines(journal: &str) -> Vec<usize> {
    journal.match_indices('\n').map(|(end, _)| end + 1).collect()
}

pub const SWEEP: &str = "step(\"First\");\nkey_on();\n\
    let track = sweep(\"track\", \"Turn\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    let seen = ask(\"seen\", \"Clean?\");\nif track.follows { conclude(\"wire\"); }\nconclude(\"part\");\n";

/// The readings of the sweep that stand, and those that were taken back.
pub fn of_the_sweep(events: &[Value]) -> (Vec<&str>, Vec<&str>) {
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
fn a_whole_run_at_the_vehicle_is_shown() {
    let (place, _) = recorded();
    assert_snapshot!(place.call("show").go().ended(0), @"
    exit 0
    --- stdout
    Found: Wire open. Do: Repair the wire.
    Left changed: meter leads on, C41 unplugged.

    procedure    Test (revision 1)
    record       1  2026-11-24-090000-p-unit-12
    began        2026-11-24 09:00 UTC
    vehicle      Unit 12
    found it     key off, engine stopped, vehicle down, wheels chocked, battery
                 connected, high-voltage system absent
    technician   A. Tester
    meter        none named; accuracy assumed, not your meter
    answered by  a person at the vehicle
    clock        set by hand

    Step: First (near lift)
      Done: Turn the key on, engine not running (2026-11-24 09:00)
    ┌──────────────────────────┬────────────┬───────────────────┬──────────────────┐
    │ prompt                   ┆    reading ┆ limits            ┆ verdict          │
    ╞══════════════════════════╪════════════╪═══════════════════╪══════════════════╡
    │ Reference (supply)       ┆    4.998 V ┆ 4.75 … 5.25 V     ┆ OK; first typed  │
    │ red: reference           ┆            ┆                   ┆ 49.98. Expected  │
    │ black: ground            ┆            ┆                   ┆ about 4.998 V.   │
    │                          ┆            ┆                   ┆ Decimal slip, or │
    │                          ┆            ┆                   ┆ wrong range?     │
    │ Turn the shaft (track)   ┆ 5 readings ┆ 0.5 … 4.5 (ends ± ┆ follows, 0.5 V … │
    │ red: signal              ┆            ┆ 0.4) V            ┆ 4.5 V            │
    │ black: ground            ┆            ┆                   ┆                  │
    └──────────────────────────┴────────────┴───────────────────┴──────────────────┘
      In order: 0.5 V, 1.5 V, 2.5 V, 3.5 V at late, 4.5 V.

    Step: Second
      Note: all dry
      Done: Turn the key off (2026-11-24 09:00)
      Done: Unplug C41 (2026-11-24 09:00)
    ┌────────────────────────┬─────────┬────────┬─────────┐
    │ prompt                 ┆ reading ┆ limits ┆ verdict │
    ╞════════════════════════╪═════════╪════════╪═════════╡
    │ Is it corroded? (seen) ┆      no ┆        ┆         │
    │ What is it like? (how) ┆   tight ┆        ┆         │
    │ What else? (words)     ┆  rust Ω ┆        ┆         │
    └────────────────────────┴─────────┴────────┴─────────┘


    The vehicle manufacturer's instructions, local codes and licensed practice come
    before this report. The limits are those of the shop's test procedure. Do not
    take them for the vehicle manufacturer's.
    ");
}
