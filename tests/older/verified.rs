//! `verify`: every record is as good as it was to the version that wrote it.

use crate::kept::{self, Facts, Shop};
use serde_json::{Value, json};

/// Records that the program of today judges otherwise than the version that wrote them, and why.
///
/// That version knew one OL only. Now an OL on the diode test is an open circuit, and an OL on volts decides nothing.
pub const JUDGED_OTHERWISE: [(&str, &str); 3] = [
    ("1481b93", "2026-11-24-151000-coil-unit-22-over-range"),
    ("1481b93", "2026-11-24-153000-coil-unit-25-diode-open"),
    ("1481b93", "units-coil-row-00005"),
];

/// What matters of what `verify --json` says of a record; not its words.
pub fn facts_of(record: &Value) -> Value {
    // An older version has no such list.
    let count = |key: &str| record[key].as_array().map_or(0, Vec::len);
    let sign_offs: Vec<_> = record["sign_offs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|sign_off| {
            let word = |key: &str| sign_off[key].as_str().unwrap().to_owned();
            json!({
                "line": sign_off["line"],
                "bytes": sign_off["bytes"],
                "who": format!("{}, {}, {}", word("name"), word("role"), word("meaning")),
                "at": sign_off["at"],
                "fingerprint": sign_off["fingerprint"],
                "unfinished": sign_off["unfinished"],
                "holds": sign_off["holds"],
            })
        })
        .collect();
    let judged = &record["judged_again"];
    json!({
        "state": record["state"],
        "sign_offs": sign_offs,
        "wrong": count("wrong"),
        "unsigned": count("unsigned"),
        "unsigned_lines": record["unsigned_lines"],
        "remarks": count("remarks"),
        "judged": match judged["result"].as_str().unwrap() {
            "same" => json!({
                "verdicts": judged["verdicts"],
                "cautions": judged["cautions"],
                "concluded": judged["concluded"],
            }),
            "differs" => json!({ "differs_at_line": judged["line"] }),
            other => json!(other),
        },
    })
}

fn by_name(json: &Value) -> Facts {
    let records = json["records"].as_array().unwrap();
    records.iter().map(|record| (record["record"].as_str().unwrap().to_owned(), facts_of(record))).collect()
}

/// What matters of what the program says of every record of a version.
pub fn facts(version: &str) -> Facts {
    by_name(&Shop::of(version).ask(&["verify", "--json", "records"]).json())
}

#[test]
fn every_record_is_as_good_as_expected() {
    kept::assert_as_expected("verify", facts);
}

#[test]
fn every_record_is_as_good_as_it_was_to_the_version_that_wrote_it() {
    let mut otherwise = Vec::new();
    let mut good = 0;
    for version in kept::versions() {
        let expected = kept::lines_of("expected", &version);
        for (record, said) in kept::lines_of("as_it_was", &version) {
            let then = by_name(&said["verify"]).remove(&record).unwrap();
            // What was good to the version that wrote it was judged the same by it.
            assert!(then["state"] != "bad" && then["judged"].get("concluded").is_some(), "{version} {record}: {then}");
            match then == expected[&record]["verify"] {
                true => good += 1,
                false => otherwise.push((version.clone(), record)),
            }
        }
    }
    let known: Vec<_> =
        JUDGED_OTHERWISE.iter().map(|(version, record)| (version.to_string(), record.to_string())).collect();
    assert_eq!(otherwise, known);
    assert!(good > 100, "{good}");
}

#[test]
fn the_exit_code_says_whether_a_record_is_bad_or_only_not_signed() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        let expected = kept::lines_of("expected", &version);
        assert_eq!(shop.ask(&["verify", "records"]).code, 1, "{version}: not all are signed");
        for record in kept::records(&version).iter().filter(|record| record.contains("pump")) {
            let state = expected[record]["verify"]["state"].as_str().unwrap();
            let plain = shop.ask(&["verify", record]).code;
            assert_eq!(plain, i32::from(state != "good"), "{version} {record}");
        }
        let bad = expected.values().any(|line| line["verify"]["state"] == "bad");
        let ran = shop.ask(&["verify", "records", "--allow-unsigned"]);
        assert_eq!(ran.code, i32::from(bad), "{version}: {}", ran.out);
    }
}
