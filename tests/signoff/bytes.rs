//! Up to the last signature every change is found and its event named; what stands behind it shows as unsigned.

use crate::shop::Shop;
use ohmwright::records::chain::{Chain, Lines};
use ohmwright::records::damage::Problem;

fn chain(bytes: &[u8]) -> Chain {
    Chain::of(&Lines::of(bytes))
}

fn said(bytes: &[u8]) -> Vec<String> {
    chain(bytes).problems.iter().map(ToString::to_string).collect()
}

fn joined(lines: &[&str]) -> Vec<u8> {
    (lines.join("\n") + "\n").into_bytes()
}

/// A journal that Ana and Lea have signed.
fn signed_twice() -> Vec<u8> {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    shop.sign_as_lea().good();
    shop.journal()
}

#[test]
fn every_flipped_byte_is_found_at_its_line() {
    let good = signed_twice();
    let whole = chain(&good);
    assert!(whole.is_whole() && whole.unsigned.is_empty() && whole.sign_offs.len() == 2);
    let mut line = 1;
    for (position, byte) in good.iter().enumerate() {
        // The lowest bit, so that digits stay digits and letters stay letters.
        let mut bad = good.clone();
        bad[position] ^= 1;
        let found = chain(&bad);
        let last_line_end = position + 1 == good.len();
        if last_line_end {
            assert!(found.torn > 0, "the last line end");
        } else {
            // A format or a behavior that only a newer program has is not judged, and so not good.
            if found.newer.is_some() {
                assert!(line == 1 && matches!(*byte, b'2' | b'4'), "byte {position}");
                continue;
            }
            assert!(!found.is_whole(), "byte {position} of line {line}");
            // A statement and its signature stand for each other: either may be the changed one.
            let named = found.problems.iter().any(|problem| {
                let about = problem.line();
                about == line || matches!(problem, Problem::Signature { .. }) && about + 1 == line
            });
            assert!(named || *byte == b'\n', "byte {position} of line {line}: {:?}", found.problems);
        }
        if *byte == b'\n' {
            line += 1;
        }
    }
}

#[test]
fn the_program_names_the_changed_event_and_ends_with_1() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let good = shop.journal();
    let text = String::from_utf8(good.clone()).unwrap();
    for (was, is, words) in [
        ("5.01", "4.01", "was changed after it was signed: the reading `supply` in V at reference and ground"),
        (
            "\"text\":\"2.5\"",
            "\"text\":\"2.6\"",
            "was changed after it was signed: a reading of the sweep `track`: 2.6",
        ),
        ("not_present", "not_presenT", "was changed after it was signed: the conclusion not_presenT"),
        ("exhaust", "exhausT", "line 2 was changed after it was signed: the step"),
        ("Unit 7", "Unit 8", "line 1 was changed after it was signed: the start of the run"),
        ("09:00:0", "08:00:0", "was changed after it was signed"),
        ("\"role\":\"technician\"", "\"role\":\"lead\"", "(the statement of Ana Example)"),
        (
            "\"event\":\"signed\"",
            "\"event\": \"signed\"",
            "line 16 can't be read: it has unknown, repeated or reordered fields",
        ),
    ] {
        assert!(text.contains(was), "{was}");
        std::fs::write(shop.journal_path(), text.replacen(was, is, 1)).unwrap();
        shop.verify().says(1, words);
    }
    std::fs::write(shop.journal_path(), good).unwrap();
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn dropped_inserted_and_reordered_lines_are_told_apart() {
    let good = String::from_utf8(signed_twice()).unwrap();
    let lines: Vec<&str> = good.lines().collect();
    for index in 0..lines.len() - 2 {
        let mut dropped = lines.clone();
        dropped.remove(index);
        let found = chain(&joined(&dropped));
        assert!(!found.is_whole(), "line {} dropped", index + 1);
        // Two lines that say the same can't be told apart, nor a statement without its signature.
        let named = found.problems.iter().any(|problem| problem.line().abs_diff(index + 1) <= 1);
        assert!(named, "line {} dropped: {:?}", index + 1, found.problems);

        let mut doubled = lines.clone();
        doubled.insert(index, lines[1]);
        let found = chain(&joined(&doubled));
        assert!(!found.is_whole(), "line put in before {}", index + 1);

        let mut swapped = lines.clone();
        swapped.swap(index, index + 1);
        assert!(!chain(&joined(&swapped)).is_whole(), "line {} swapped with the next", index + 1);
    }
    let mut dropped = lines.clone();
    dropped.drain(2..4);
    assert_eq!(said(&joined(&dropped))[0], "2 lines are missing after line 2");
    let mut inserted = lines.clone();
    inserted.insert(3, r#"{"at":"2026-11-24T09:00:00Z","event":"paused"}"#);
    assert_eq!(said(&joined(&inserted))[0], "line 4 was put in: a pause");
    let mut swapped = lines.clone();
    swapped.swap(6, 8);
    assert!(said(&joined(&swapped))[0].starts_with("lines 7 to 9 were put into another order: a reading of the sweep"));
    let mut emptied = lines.clone();
    emptied.insert(3, "");
    assert!(said(&joined(&emptied))[0].starts_with("line 4 is empty"));
}

#[test]
fn a_signature_does_not_go_with_another_record() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let lines = shop.lines();
    std::fs::remove_dir_all(shop.path("records").join(shop.record())).unwrap();
    shop.write("answers.toml", &crate::shop::ANSWERS.replace("5.01", "5.02"));
    shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
    let mut moved = shop.lines();
    moved.extend(lines[lines.len() - 2..].iter().cloned());
    shop.set_lines(&moved);
    shop.verify().says(1, "was changed after it was signed: the reading `supply`");
}

#[test]
fn a_signature_alone_is_none() {
    let good = String::from_utf8(signed_twice()).unwrap();
    let lines: Vec<&str> = good.lines().collect();
    let mut without = lines.clone();
    without.remove(lines.len() - 2);
    let problems = said(&joined(&without));
    let alone = format!("line {} is a signature with no statement above it", lines.len() - 1);
    assert!(problems.contains(&alone), "{problems:?}");
}

#[test]
fn lines_behind_the_last_signature_show_as_unsigned() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let mut lines = shop.lines();
    let signed = lines.len();
    lines.push(r#"{"at":"2026-11-24T10:30:00Z","event":"noted","at_prompt":"supply","text":"added"}"#.to_owned());
    shop.set_lines(&lines);
    let found = chain(&shop.journal());
    assert!(found.is_whole());
    assert_eq!(found.unsigned, [(signed + 1, "a note".to_owned())]);
    shop.verify().says(1, &format!("line {} is not signed: a note", signed + 1));

    // What trails was cut off: nothing shows it but a copy elsewhere.
    lines.truncate(signed - 2);
    shop.set_lines(&lines);
    shop.verify().says(1, "nobody has signed it");
    shop.at("2026-11-24T12:00:00Z", &["verify", "--allow-unsigned"]).says(0, "nobody has signed it");
}

#[test]
fn a_torn_line_behind_the_signature_is_said_and_never_touches_signed_bytes() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let signed = shop.journal();
    let mut torn = signed.clone();
    torn.extend(b"{\"at\":\"2026");
    std::fs::write(shop.journal_path(), &torn).unwrap();
    shop.verify().says(1, "the last line was not written whole (11 bytes)");
    shop.sign_as_lea().good();
    assert!(shop.journal().starts_with(&signed));
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn no_journal_however_hostile_makes_it_panic() {
    let good = signed_twice();
    for length in (0..good.len()).step_by(7) {
        let cut = chain(&good[..length]);
        assert!(cut.sign_offs.len() < 2 && cut.problems.iter().all(|problem| !problem.to_string().is_empty()));
    }
    for bytes in [&b""[..], b"\n", b"\n\n\n", b"{}\n", b"\xff\xfe\n", b"null\n[]\n", b"{\"at\":1}\n"] {
        assert!(!chain(bytes).is_whole());
    }
}
