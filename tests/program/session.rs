//! What a run at the vehicle begins with, and who may write its record.

use crate::place::{LET_STAND, Place, SAFE, of_kind};
use crate::whole_run::{BODY, LINES};
use insta::assert_snapshot;

#[test]
fn nothing_is_ever_answered_by_default() {
    let place = Place::with(BODY);
    place.with_answers("").ended(4).says("Waits for `supply`");
    assert_eq!(of_kind(&place.events(), "answered").len(), 0);
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
    let second = place.call("resume").typing(&LINES).in_vain().go();
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
        .says("OHMWRIGHT_CLOCK=noon is not a time");
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
        "24 V",
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
      system voltage: 12 or 24: 24 V
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
    The vehicle manufacturer's instructions, local codes and licensed practice come
    before every caution here.
    Record 1: 2026-11-24-090000-p-unit-7

    ────────────────────────────────────────────────────────────────────────────────
    Cause:      Wire open
    Correction: Repair the wire
      Enter lets it stand, `back` answers again >
    Found: Wire open. Do: Repair the wire.
    Record 1: 2026-11-24-090000-p-unit-7
    Next: ohmwright report 1
    "#);
    // A slip is mended before the run begins, and nothing is swallowed.
    let slipped = [
        "help", "Unit 8", "", "81 km", "back", "82 km", "Hums", "maybe", "2", "", "", "", "1", "1", "", "1", "1", "1",
        "1",
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
