//! Disks that are full, folders that can't be read, journals that somebody tampered with.

use crate::place::{LET_STAND, Place, SAFE, Shown, events, of_kind};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

const BODY: &str = "step(\"First\", near(\"lift\"));\nkey_on();\nlet a = read(\"a\", \"Supply\", between(4.75.V, 5.25.V));\n\
    let t = sweep(\"t\", \"Turn\", ends(0.5.V, 4.5.V), across(\"x\", \"y\"), moving(\"shaft\"));\n\
    let b = ask(\"b\", \"Clean?\");\nlet c = choose(\"c\", \"Which?\", [\"loose\", \"tight\"]);\nif b.no { conclude(\"wire\"); }\nconclude(\"part\");\n";
const LINES: [&str; 10] = ["", "49.8", "4.98", "0.5 2.5 @ 1", "0.5 2.5", "4.5 @ end", "", "1", "2", LET_STAND[0]];
const ANSWERS: &str = "a = [\"49.8\", \"4.98\"]\nt = [\"0.5\", \"2.5\", \"4.5 @ end\"]\nb = true\nc = \"tight\"\n";

fn recorded() -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(&LINES).ended(0).says("Part worn");
    place.answers(ANSWERS);
    let journal = std::fs::read_to_string(place.journal_of(&place.record())).unwrap();
    (place, journal)
}

/// One sentence on what failed: an error line, and no more than a line of advice.
#[track_caller]
fn in_a_sentence(shown: &Shown) {
    let lines: Vec<&str> = shown.err.lines().filter(|line| line.starts_with("error:")).collect();
    assert_eq!(lines.len(), 1, "{shown}");
}

/// No file may grow beyond so many blocks of 512 bytes; what is beyond fails as a full disk does.
fn full_after(blocks: u64) -> String {
    format!("trap '' XFSZ; ulimit -f {blocks}")
}

#[test]
fn a_disk_that_is_full_loses_nothing_that_stood_before() {
    let (place, journal) = recorded();
    let first = place.record();
    let size = journal.len() as u64;
    let mut broken_off = 0;
    for blocks in 1..size / 512 {
        let before = place.records();
        let shown = place.run_at_vehicle(&SAFE).under(&full_after(blocks)).typing(&LINES).in_vain().go().ended(7);
        in_a_sentence(&shown);
        assert_eq!(std::fs::read_to_string(place.journal_of(&first)).unwrap(), journal);
        let new: Vec<_> = place.records().into_iter().filter(|name| !before.contains(name)).collect();
        let [new] = new.as_slice() else { panic!("{new:?}") };
        let text = std::fs::read_to_string(place.journal_of(new)).unwrap();
        // Whole lines only; those that fitted, fitted as they would have.
        let kept = events(&text);
        assert!(text.len() as u64 <= blocks * 512);
        if kept.is_empty() {
            place.call("resume").and(&[new]).go().ended(2).says("was broken off before anything was recorded");
            continue;
        }
        broken_off += 1;
        shown.says("Earlier answers are kept");
        place.call("resume --answers answers.toml").and(&[new]).go().ended(0).says("Part worn");
        assert!(std::fs::read_to_string(place.journal_of(new)).unwrap().starts_with(&text));
    }
    assert!(broken_off > 1, "the disk was never full in the middle of a run");
}

#[test]
fn a_disk_that_is_full_from_the_start_is_said_in_a_sentence() {
    let place = Place::with(BODY);
    let shown = place.answers(ANSWERS).call("run p.rhai --answers answers.toml").under(&full_after(0)).go().ended(7);
    in_a_sentence(&shown);
    assert_eq!(place.records(), Vec::<String>::new());
    place.call("run p.rhai --answers answers.toml").go().ended(0);
}

#[test]
fn a_full_disk_stops_a_table_and_running_again_goes_on() {
    let place = Place::with(BODY);
    // Every other row tells a story that is too long for the disk.
    let table = |volts: &str, story: &str| {
        let rows = (1..=40).map(|number| {
            let story = if number % 2 == 0 { story } else { "" };
            format!("Unit {number},{story},{volts},1,2,skip no time\n")
        });
        format!("vehicle,concern,a,b,c,t\n{}", rows.collect::<String>())
    };
    let folders = || {
        let names = std::fs::read_dir(place.path("records")).unwrap().map(|entry| entry.unwrap().file_name());
        names.filter(|name| name.to_str().unwrap().starts_with("fleet-p-row-")).count()
    };
    place.file("fleet.csv", table("4.98", "")).call("batch p.rhai fleet.csv").go().ended(0);
    place.file("fleet.csv", table("4.99", &"story ".repeat(1000)));
    let shown = place.call("batch p.rhai fleet.csv").under(&full_after(8)).go().ended(7);
    in_a_sentence(&shown);
    // The first row that does not fit ends the table: each worker may have done one that fits. No folder is without a record.
    let (begun, workers) = (place.records().len() - 40, std::thread::available_parallelism().unwrap().get());
    assert!(begun <= workers, "{begun} rows were begun by {workers} workers on a full disk");
    assert_eq!(folders(), 40 + begun);
    place.call("batch p.rhai fleet.csv").go().ended(0).says("40 rows");
    assert_eq!((place.records().len(), folders()), (80, 80));
    for (name, journal) in place.journals() {
        assert_eq!(of_kind(&events(&journal), "concluded").len(), 1, "{name}");
    }
}

#[test]
fn folders_that_are_none_are_said_in_a_sentence() {
    let place = Place::with(BODY);
    place.file("taken", "a file").answers(ANSWERS);
    for command in ["run p.rhai --answers answers.toml", "show", "resume", "batch p.rhai fleet.csv"] {
        place.file("fleet.csv", "vehicle,a\nUnit 1,5.0\n");
        let shown = place.call(command).and(&["--records", "taken"]).go().ended(7);
        in_a_sentence(&shown);
        shown.says("taken");
    }
    // A file system that takes no folders.
    let shown = place.call("run p.rhai --answers answers.toml --records /proc/self/fd").go().ended(7);
    in_a_sentence(&shown);
    place.call("list --shop nowhere").go().ended(2).says("there is no shop.toml in nowhere");
    place.file("shop.toml", "name = 5\n");
    place.call("list").go().ended(3).says("shop.toml:1:8");
    std::fs::remove_file(place.path("shop.toml")).unwrap();
    std::fs::create_dir(place.path("dir.rhai")).unwrap();
    place.call("run dir.rhai").go().ended(7).says("dir.rhai");
}

#[test]
fn a_folder_without_rights_is_said_in_a_sentence() {
    use std::os::unix::fs::PermissionsExt;
    let (place, _) = recorded();
    let journal = place.journal_of(&place.record());
    let rights = |path: &std::path::Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    let show = || place.call("show").bound_by_rights().go();
    show().ended(0);
    rights(&journal, 0o000);
    in_a_sentence(&show().ended(7).says("journal.jsonl"));
    rights(&journal, 0o644);
    let records = place.path("records");
    let run = || place.call("run p.rhai --answers answers.toml").bound_by_rights().go();
    rights(&records, 0o555);
    in_a_sentence(&run().ended(7).says("records"));
    assert_eq!(place.records().len(), 1);
    rights(&records, 0o755);
    run().ended(0);
}

/// What becomes of a journal with this text.
fn with_journal(place: &Place, record: &str, text: &[u8]) -> (Shown, Shown) {
    std::fs::write(place.journal_of(record), text).unwrap();
    let show = place.call("show").and(&[record]).go().without_panic();
    let resume = place.call("resume --answers answers.toml").and(&[record]).go().without_panic();
    (show, resume)
}

#[test]
fn a_journal_of_another_version_is_not_read() {
    let (place, journal) = recorded();
    let record = place.record();
    let other = journal.replace("\"format\":2", "\"format\":3");
    let (show, resume) = with_journal(&place, &record, other.as_bytes());
    show.ended(3).says("written by a newer ohmwright").says("install that version of ohmwright");
    resume.ended(3).says("written by a newer ohmwright");
    assert_eq!(std::fs::read_to_string(place.journal_of(&record)).unwrap(), other);
    // Nor is one with an event that this version does not know.
    let other = journal.replacen("\"event\":\"step_began\"", "\"event\":\"step_dreamt\"", 1);
    let (show, resume) = with_journal(&place, &record, other.as_bytes());
    show.ended(3).says("journal.jsonl:2").says("can't be read");
    resume.ended(3);
    assert_eq!(std::fs::read_to_string(place.journal_of(&record)).unwrap(), other);
}

#[test]
fn journals_that_make_no_sense_are_a_sentence_and_never_a_panic() {
    let (place, journal) = recorded();
    let record = place.record();
    let lines: Vec<&str> = journal.lines().collect();
    let joined = |lines: &[&str]| lines.iter().map(|line| format!("{line}\n")).collect::<String>().into_bytes();
    let open = &lines[..lines.len() - 1];
    let mut reversed = open.to_vec();
    reversed.reverse();
    let mut twice = open.to_vec();
    twice.extend(open);
    let mut struck = open.to_vec();
    let mut with_struck = |line: &'static str| {
        struck.push(line);
        let text = joined(&struck);
        struck.pop();
        text
    };
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("garbage", b"\x00\xff\xfegarbage\n".to_vec()),
        ("no object", b"5\n".to_vec()),
        ("empty lines", b"\n\n\n".to_vec()),
        ("a huge line", [b"{\"at\":\"".to_vec(), vec![b'x'; 4 << 20], b"\"}\n".to_vec()].concat()),
        ("deep", [vec![b'['; 100_000], b"\n".to_vec()].concat()),
        ("without a start", joined(&open[1..])),
        ("backward", joined(&reversed)),
        ("twice", joined(&twice)),
        ("without a step", joined(&[&open[..1], &open[2..]].concat())),
        (
            "without a reading of the sweep",
            joined(&open.iter().copied().filter(|line| !line.contains("\"0.5\"")).collect::<Vec<_>>()),
        ),
        ("struck before all", with_struck("{\"at\":\"x\",\"event\":\"struck\",\"from_line\":0,\"id\":\"a\"}")),
        (
            "struck beyond all",
            with_struck("{\"at\":\"x\",\"event\":\"struck\",\"from_line\":18446744073709551615,\"id\":\"a\"}"),
        ),
        ("a time that is none", journal.replace("2026-11-24T09:00:0", "Ω").into_bytes()),
        (
            "an answer of another kind",
            journal.replace("\"answer\":\"yes_no\",\"yes\":true", "\"answer\":\"note\",\"words\":\"x\"").into_bytes(),
        ),
        ("a reading that is none", journal.replace("\"typed\":\"4.98\"", "\"typed\":\"xyz\"").into_bytes()),
        ("a choice that is none", journal.replace("\"option\":\"tight\"", "\"option\":\"other\"").into_bytes()),
        ("a sweep's reading that is none", journal.replace("\"text\":\"2.5\"", "\"text\":\"\"").into_bytes()),
        (
            "an engine at rest since before time",
            journal.replacen("\"engine_stopped_at\":", "\"engine_stopped_at\":-922337203685477580", 1).into_bytes(),
        ),
        ("a source out of the folder", journal.replacen("\"sha256\":\"", "\"sha256\":\"../../", 1).into_bytes()),
        ("limits beyond number", journal.replace("5.25 V", "1e308 V").into_bytes()),
        ("limits that are not a number", journal.replace("5.25 V", "NaN V").into_bytes()),
    ];
    for (what, text) in cases {
        let (show, resume) = with_journal(&place, &record, &text);
        for shown in [&show, &resume] {
            if ![0, 4].contains(&shown.code) {
                assert!(shown.err.lines().any(|line| line.starts_with("error: ")), "{what}\n{shown}");
            }
        }
    }
}

#[test]
fn a_record_that_says_something_else_than_the_procedure_asks_is_no_ground_to_go_on() {
    let (place, journal) = recorded();
    let record = place.record();
    let open: String = journal.lines().take(9).map(|line| format!("{line}\n")).collect();
    let other = open.replace("\"title\":\"First\"", "\"title\":\"Another\"").replace("\"id\":\"a\"", "\"id\":\"z\"");
    let (_, resume) = with_journal(&place, &record, other.as_bytes());
    resume.ended(3).says("the record has the step “Another”, and the procedure now has the step “First”");
    assert!(std::fs::read_to_string(place.journal_of(&record)).unwrap().starts_with(&other));
    let other = open.replace("\"id\":\"a\"", "\"id\":\"z\"");
    let (_, resume) = with_journal(&place, &record, other.as_bytes());
    resume.ended(3).says("line").says("the reading `a` in V");
}

#[test]
fn no_mutation_of_a_journal_makes_it_panic() {
    let (place, journal) = recorded();
    let record = place.record();
    let mut runner = TestRunner::new(Config { cases: 96, failure_persistence: None, ..Config::default() });
    let length = journal.len();
    let change = (0..length, 0..64usize, prop::collection::vec(any::<u8>(), 0..12), 0..4u8, 0..length);
    runner
        .run(&change, |(at, removed, inserted, kind, other)| {
            let mut bytes = journal.clone().into_bytes();
            match kind {
                // Bytes replaced, a digit changed, lines changing places, a piece put elsewhere.
                0 => drop(bytes.splice(at..(at + removed).min(length), inserted)),
                1 => {
                    if let Some(digit) = bytes[at..].iter().position(u8::is_ascii_digit) {
                        bytes[at + digit] = b'0' + (removed % 10) as u8;
                    }
                }
                2 => {
                    let mut lines: Vec<&str> = journal.lines().collect();
                    let count = lines.len();
                    lines.swap(at % count, other % count);
                    bytes = lines.iter().map(|line| format!("{line}\n")).collect::<String>().into_bytes();
                }
                _ => {
                    let piece: Vec<u8> = bytes[at..(at + removed).min(length)].to_vec();
                    drop(bytes.splice(other..other, piece));
                }
            }
            let (show, resume) = with_journal(&place, &record, &bytes);
            for shown in [show, resume] {
                prop_assert!([0, 4].contains(&shown.code) || shown.err.contains("error: "), "{}", shown);
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn a_person_sees_the_session_through_a_closed_pipe_without_a_panic() {
    let place = Place::with(BODY);
    let mut child = place
        .run_at_vehicle(&SAFE)
        .command()
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut stdin = child.stdin.take().unwrap();
    std::io::Write::write_all(&mut stdin, (LINES.join("\n") + "\n").as_bytes()).unwrap();
    drop(stdin);
    let done = child.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    assert_eq!(of_kind(&place.events(), "concluded").len(), 1);
}

#[test]
fn names_that_would_leave_the_folder_or_be_too_long_make_a_record_all_the_same() {
    let place = Place::with("conclude(\"wire\");\n");
    let long = "長".repeat(300);
    for vehicle in ["../../up", "a:b\\c|d*e?", long.as_str(), "...", "Ünit 4/7"] {
        let before = place.records().len();
        place.answers("").call("run p.rhai --answers answers.toml --vehicle").and(&[vehicle]).go().ended(0);
        assert_eq!(place.records().len(), before + 1, "{vehicle}");
    }
    for name in place.records() {
        assert!(!name.contains([':', '\\', '*', '?', '|', '.']) && name.len() <= 255, "{name}");
    }
    let name = "長".repeat(60);
    place.file(&format!("{name}.rhai"), "//! title = \"x\"\n//! revision = 1\nconclude(\"not_present\");\n");
    place.file("long.toml", format!("procedure = \"{name}\"\n[answers]\n"));
    place.call("run").and(&[&format!("{name}.rhai"), "--answers", "long.toml", "--vehicle", &long]).go().ended(0);
}
