//! Every kept record has its expectation, every expectation its record, and together they hold what can happen in a run.

use crate::kept::{self, Facts};
use crate::{judged, shown, taken_up, verified};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Names that only one of the two has.
fn unmatched<'a>(
    records: impl IntoIterator<Item = &'a String>,
    expected: impl IntoIterator<Item = &'a String>,
) -> Vec<&'a String> {
    let (records, expected): (BTreeSet<_>, BTreeSet<_>) =
        (records.into_iter().collect(), expected.into_iter().collect());
    records.symmetric_difference(&expected).copied().collect()
}

/// Writes down what is true now. Look at every line that changes: a record that comes out otherwise is a fault of the program,
/// unless you know why and say so.
fn write_what_is_true_now() {
    std::fs::create_dir_all(kept::here().join("expected")).unwrap();
    for version in kept::versions() {
        let aspects: [(&str, Facts); 4] = [
            ("verify", verified::facts(&version)),
            ("report", shown::facts(&version)),
            ("rejudge", judged::facts(&version)),
            ("resume", taken_up::facts(&version)),
        ];
        let mut text = String::new();
        for record in kept::records(&version) {
            let mut line = json!({ "record": record });
            for (key, facts) in &aspects {
                line[*key] = facts.get(&record).cloned().unwrap_or(Value::Null);
            }
            text += &format!("{line}\n");
        }
        std::fs::write(kept::here().join("expected").join(format!("{version}.jsonl")), text).unwrap();
    }
}

/// With `OHMWRIGHT_WRITE_EXPECTATIONS=1` it first writes down what is true now:
/// `OHMWRIGHT_WRITE_EXPECTATIONS=1 cargo test --test older every_record_has_an_expectation`.
#[test]
fn every_record_has_an_expectation_and_every_expectation_a_record() {
    if std::env::var_os("OHMWRIGHT_WRITE_EXPECTATIONS").is_some() {
        write_what_is_true_now();
    }
    let mut versions = BTreeSet::new();
    for folder in ["expected", "as_it_was"] {
        for entry in std::fs::read_dir(kept::here().join(folder)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            let version = name.strip_suffix(".jsonl").unwrap_or_else(|| panic!("{folder}/{name} does not belong here"));
            versions.insert(version.to_owned());
        }
    }
    let none: [&String; 0] = [];
    assert_eq!(unmatched(&kept::versions(), &versions), none);
    for version in kept::versions() {
        let records = kept::records(&version);
        assert!(records.len() >= 4, "{version}: only {} records", records.len());
        for folder in ["expected", "as_it_was"] {
            let lines = kept::lines_of(folder, &version);
            assert_eq!(unmatched(&records, lines.keys()), none, "{folder}/{version}");
        }
        for line in kept::lines_of("expected", &version).values() {
            for key in ["verify", "report", "rejudge", "resume"] {
                assert!(line[key].is_object(), "{version}: {key} is missing in {line}");
            }
        }
    }
}

#[test]
fn what_only_one_of_the_two_has_is_found() {
    let names = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let (both, one) = (names(&["a", "b"]), names(&["a"]));
    assert_eq!(unmatched(&both, &one), ["b"]);
    assert_eq!(unmatched(&one, &both), ["b"]);
    assert!(unmatched(&both, &both).is_empty());
}

#[test]
fn the_records_hold_what_can_happen_in_a_run() {
    let mut seen = BTreeSet::new();
    for version in kept::versions() {
        for record in kept::records(&version) {
            let journal = kept::journal(&version, &record);
            let events = kept::events(&journal);
            let mut see = |what: &str| _ = seen.insert(what.to_owned());
            if !journal.ends_with(b"\n") {
                see("a torn line");
            }
            for event in &events {
                let kind = event["event"].as_str().unwrap();
                see(kind);
                for key in [
                    "already",
                    "back",
                    "cut_short_after",
                    "corrected",
                    "carried",
                    "qualified",
                    "position",
                    "reading",
                    "part",
                    "bench",
                    "row",
                ] {
                    if !event[key].is_null() {
                        see(&format!("{kind} {key}"));
                    }
                }
                for key in ["answered_by", "answer", "ask", "how", "by_person"] {
                    if !event[key].is_null() {
                        see(&format!("{kind} {key} {}", event[key].to_string().trim_matches('"')));
                    }
                }
                if let Some(link) = event["link"]["kind"].as_str() {
                    see(&format!("link {link}"));
                }
                if kind == "ended"
                    && event["words"].is_null()
                    && event["reason"].as_str().is_some_and(|reason| reason.contains('('))
                {
                    see("ended with somebody's words within the reason");
                }
                assert_eq!(event["format"].as_u64().unwrap_or(1), 1, "{version} {record}");
            }
        }
    }
    let wanted = "a torn line; acknowledged by_person false; acknowledged by_person true; acknowledged qualified; \
        acted already; acted back; acted cut_short_after; answered answer choice; answered answer lowest_highest; \
        answered answer note; answered answer reading; answered answer skipped; answered answer sweep; \
        answered answer yes_no; answered carried; concluded; doubted; ended how failed; ended how unfinished; \
        ended with somebody's words within the reason; link after_repair; link changed_row; link edited_procedure; noted; \
        paused; resumed corrected; signed; started answered_by bench; started answered_by file; \
        started answered_by person; started answered_by table; started bench; started part; started row; stated; \
        struck reading; sweep_read position; torn_line_dropped; waited";
    let missing: Vec<_> = wanted.split("; ").filter(|what| !seen.contains(*what)).collect();
    assert!(missing.is_empty(), "no record has {missing:?}; they have {seen:?}");
}

#[test]
fn no_record_has_a_place_of_the_machine_that_made_it() {
    let mut paths = 0;
    for entry in walkdir::WalkDir::new(kept::here().join("records")) {
        let entry = entry.unwrap();
        if entry.file_type().is_file() {
            let text = String::from_utf8(std::fs::read(entry.path()).unwrap()).unwrap();
            let elsewhere = text.match_indices("\"/").find(|(at, _)| !text[at + 1..].starts_with("/shop/"));
            assert_eq!(elsewhere, None, "{}", entry.path().display());
            paths += text.matches("\"/shop/").count();
        }
    }
    assert!(paths > 100, "{paths}");
}
