//! Signatures of older records: any byte that changes is seen, and an older record can be signed today.

use crate::kept::{self, Shop};

const SIGNED: &str = "2026-11-24-090000-pump-signed";

/// What `verify` says after the journal was put in place of the kept one.
fn verified(shop: &Shop, journal: &[u8]) -> (i32, serde_json::Value) {
    std::fs::write(shop.journal_of(SIGNED), journal).unwrap();
    let ran = shop.ask(&["verify", "--json", SIGNED]);
    (ran.code, ran.json()["records"][0].clone())
}

#[test]
fn a_byte_that_changes_in_any_line_of_a_signed_record_is_seen() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        let journal = kept::journal(&version, SIGNED);
        assert_eq!(verified(&shop, &journal).0, 0, "{version}: as it is kept it is good");
        let mut begins = 0;
        for (number, line) in (1..).zip(journal.split_inclusive(|byte| *byte == b'\n')) {
            // A digit of the time, which every line has.
            let at = begins + line.windows(9).position(|bytes| bytes.starts_with(b"2026-11-2")).unwrap() + 8;
            let mut changed = journal.clone();
            changed[at] = if changed[at] == b'4' { b'5' } else { b'4' };
            let (code, found) = verified(&shop, &changed);
            assert_eq!((code, &found["state"]), (1, &"bad".into()), "{version}, line {number}: {found}");
            assert!(
                found["wrong"].as_array().unwrap().iter().any(|wrong| wrong["line"].is_number()),
                "{version}, line {number}: {found}"
            );
            begins += line.len();
        }
    }
}

#[test]
fn a_kept_source_that_changes_is_seen() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        let events = kept::events(&kept::journal(&version, SIGNED));
        for source in events[0]["sources"].as_array().unwrap() {
            let path = shop.path("records/sources").join(source["sha256"].as_str().unwrap());
            let kept = std::fs::read(&path).unwrap();
            std::fs::write(&path, [kept.as_slice(), b"\n"].concat()).unwrap();
            assert_eq!(shop.ask(&["verify", SIGNED]).code, 1, "{version}: {source}");
            std::fs::write(&path, kept).unwrap();
        }
        assert_eq!(shop.ask(&["verify", SIGNED]).code, 0, "{version}");
    }
}

#[test]
fn an_older_record_that_nobody_signed_can_be_signed_today() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        let record = "2026-11-24-100000-back-way-back";
        let before = kept::journal(&version, record);
        let signed = shop.ask(&["sign", record, "--as", "Ana Example", "--key", "keys/ana"]);
        assert_eq!(signed.code, 0, "{version}: {}", signed.err);
        assert!(std::fs::read(shop.journal_of(record)).unwrap().starts_with(&before), "{version}");
        let ran = shop.ask(&["verify", record]);
        assert_eq!(ran.code, 0, "{version}: {}", ran.out);
    }
}

#[test]
fn taken_away_in_one_file_an_older_record_is_as_good() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        assert_eq!(shop.ask(&["pack", SIGNED, "--out", "packed.tar"]).code, 0, "{version}");
        let ran = shop.ask(&["verify", "packed.tar"]);
        assert_eq!(ran.code, 0, "{version}: {}", ran.out);
    }
}
