//! `resume`: an open record goes on to its end, and one that has ended is refused.

use crate::kept::{self, Facts, Shop};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The day after the records were made.
const LATER: &str = "2026-11-25T08:00:00Z";

fn how_open_ones_go_on() -> toml::Table {
    std::fs::read_to_string(kept::here().join("resume.toml")).unwrap().parse().unwrap()
}

fn facts_of(shop: &Shop, record: &str, how: Option<&toml::Value>) -> Value {
    let before = std::fs::read(shop.journal_of(record)).unwrap();
    let mut arguments = vec!["resume", record, "--kept-copy"];
    let mut typed = Vec::new();
    match how.map(|how| (how.get("answers"), how.get("typed"))) {
        Some((Some(answers), None)) => arguments.extend(["--answers", answers.as_str().unwrap()]),
        Some((None, Some(lines))) => {
            typed.extend(lines.as_array().unwrap().iter().map(|line| line.as_str().unwrap().to_owned()))
        }
        Some(_) => panic!("{record}: resume.toml has either `typed` or `answers`"),
        None => {}
    }
    let ran = shop.run(LATER, &arguments, &typed);
    let after = std::fs::read(shop.journal_of(record)).unwrap();
    if ran.code == 2 {
        assert_eq!(before, after, "{record}: what is refused changes nothing");
        let sentence = ran.err.lines().next().unwrap().trim_start_matches("error: ");
        return json!({ "refused": sentence });
    }
    // What was not written whole is dropped; every whole line is there still, byte by byte.
    let whole = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    assert!(after.starts_with(&before[..whole]), "{record}: what was recorded stays as it was");
    let events = kept::events(&after[whole..]);
    let kinds: Vec<_> = events.iter().map(|event| event["event"].clone()).collect();
    let causes = events.iter().flat_map(|event| event["causes"].as_array().into_iter().flatten());
    let causes: Vec<_> = causes.map(|cause| cause["id"].clone()).collect();
    let verified = shop.run(LATER, &["verify", "--json", record], &[]).json();
    let verified = crate::verified::facts_of(&verified["records"][0]);
    json!({ "exit": ran.code, "events": kinds, "causes": causes, "verify": verified })
}

/// Of every record of a version.
pub fn facts(version: &str) -> Facts {
    let shop = Shop::of(version);
    let how = how_open_ones_go_on();
    let names = kept::records(version).into_iter();
    names.map(|record| (record.clone(), facts_of(&shop, &record, how.get(&record)))).collect()
}

#[test]
fn every_open_record_goes_on_and_every_ended_one_is_refused() {
    kept::assert_as_expected("resume", facts);
}

#[test]
fn what_is_expected_of_a_record_that_goes_on_is_an_end_that_is_judged_the_same() {
    let how = how_open_ones_go_on();
    let mut open = BTreeSet::new();
    for version in kept::versions() {
        for (record, line) in kept::lines_of("expected", &version) {
            let (resume, standing) = (&line["resume"], line["report"]["standing"].as_str().unwrap());
            let ended = ["concluded", "unfinished", "unconcluded"].contains(&standing);
            assert_eq!(ended, resume.get("refused").is_some(), "{version} {record}: {standing}, {resume}");
            if ended {
                let refused = resume["refused"].as_str().unwrap();
                assert!(refused.contains(&format!("{record} has ended")), "{version} {record}: {refused}");
                continue;
            }
            open.insert(record.clone());
            let fails = record.ends_with("fails-failed");
            assert_eq!(resume["exit"], if fails { 3 } else { 0 }, "{version} {record}: {resume}");
            let last = resume["events"].as_array().unwrap().last().unwrap();
            assert_eq!(last, if fails { "ended" } else { "concluded" }, "{version} {record}");
            assert!(resume["verify"]["judged"].get("verdicts").is_some(), "{version} {record}: {resume}");
            // What was signed before stays signed; what came after is not.
            let signed = |verify: &Value| verify["sign_offs"].clone();
            assert_eq!(signed(&line["verify"]), signed(&resume["verify"]), "{version} {record}");
        }
    }
    assert_eq!(open.iter().collect::<Vec<_>>(), how.keys().collect::<Vec<_>>(), "resume.toml has the open records");
}

#[test]
fn a_line_that_was_not_written_whole_is_dropped() {
    let mut torn = 0;
    for version in kept::versions() {
        for (record, line) in kept::lines_of("expected", &version) {
            let bytes = line["report"]["torn_bytes"].as_u64().unwrap();
            // The sitting that dropped it begins before it says so.
            let dropped = line["resume"]["events"]
                .as_array()
                .is_some_and(|events| events.get(..2).is_some_and(|first| first == ["continued", "torn_line_dropped"]));
            assert_eq!(bytes > 0, dropped, "{version} {record}");
            torn += usize::from(dropped);
        }
    }
    assert!(torn >= 4, "{torn}");
}
