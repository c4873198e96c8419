//! `rejudge`: with the procedure that it was run with, every record comes out the same.

use crate::kept::{self, Facts, Shop};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The procedure of a record's own, as it is kept: its name and where it lies.
fn kept_procedure(shop: &Shop, journal: &[u8]) -> (String, String) {
    let events = kept::events(journal);
    let started = &events[0];
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let name = text(&started["procedure"]);
    // Its library files and its circuit as they were, too: the shop's go before the program's.
    let mut own = String::new();
    for source in started["sources"].as_array().unwrap() {
        let digest = text(&source["sha256"]);
        let kept = std::fs::read(shop.path("records/sources").join(&digest)).unwrap();
        let (folder, file) = match source["kind"].as_str().unwrap() {
            "procedure" => {
                own = format!("with/{digest}/{name}.rhai");
                (format!("with/{digest}"), format!("{name}.rhai"))
            }
            "library" => ("library".to_owned(), format!("{}.rhai", text(&source["name"]))),
            "circuit" => ("circuits".to_owned(), format!("{}.toml", text(&source["name"]))),
            _ => continue,
        };
        std::fs::create_dir_all(shop.path(&folder)).unwrap();
        std::fs::write(shop.path(&folder).join(file), kept).unwrap();
    }
    (name, own)
}

/// How every record of a version comes out with its own procedure.
pub fn facts(version: &str) -> Facts {
    let shop = Shop::of(version);
    let mut by_procedure: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    for record in kept::records(version) {
        let procedure = kept_procedure(&shop, &kept::journal(version, &record));
        by_procedure.entry(procedure).or_default().push(record);
    }
    let mut facts = Facts::new();
    for ((name, path), records) in by_procedure {
        let arguments = ["rejudge", "records", "--with", &path, "--of", &name, "--summary", "summary.csv"];
        let ran = shop.ask(&arguments);
        let mut reader = csv::Reader::from_path(shop.path("summary.csv"))
            .unwrap_or_else(|error| panic!("{version} {name}: {error}\n{}\n{}", ran.out, ran.err));
        let columns = reader.headers().unwrap().clone();
        for row in reader.records() {
            let row = row.unwrap();
            let cell = |column: &str| row.get(columns.iter().position(|name| name == column).unwrap()).unwrap();
            // The folder has records of another revision under the same name.
            if records.iter().any(|record| record == cell("record")) {
                let differing: usize = cell("verdicts_differ").parse().unwrap();
                let fact = json!({ "result": cell("result"), "verdicts_differ": differing, "exit": ran.code });
                facts.insert(cell("record").to_owned(), fact);
            }
        }
    }
    facts
}

#[test]
fn judged_again_by_its_own_procedure_every_record_comes_out_as_expected() {
    kept::assert_as_expected("rejudge", facts);
}

/// Records of which `rejudge` says that it would ask more than was asked, whatever their version; `verify` judges them the same.
/// It does not follow what somebody said of the vehicle in the middle, or that an action was not done.
const WOULD_ASK_MORE: [&str; 2] = ["2026-11-24-090000-pump-signed", "2026-11-24-103000-back-not-done"];
/// Those of a version that did not yet bring the vehicle back to how it stood.
const WOULD_ASK_MORE_OF: [(&str, &str); 2] =
    [("2e7d29e", "2026-11-24-100000-back-way-back"), ("2e7d29e", "2026-11-24-100500-back-on-the-way-back")];

#[test]
fn only_what_is_known_to_be_judged_otherwise_is_expected_to_be() {
    let (mut otherwise, mut same) = (Vec::new(), 0);
    for version in kept::versions() {
        for (record, line) in kept::lines_of("expected", &version) {
            let known = (version.as_str(), record.as_str());
            // A procedure with an error comes to it again, and has no other outcome to compare.
            let (result, exit) = match &record {
                _ if record.ends_with("fails-failed") => ("other outcome", 3),
                _ if WOULD_ASK_MORE.contains(&record.as_str()) => ("would ask more", 0),
                _ if WOULD_ASK_MORE_OF.contains(&known) => ("would ask more", 0),
                _ => ("same", 0),
            };
            match line["rejudge"] == json!({ "result": result, "verdicts_differ": 0, "exit": exit }) {
                true => same += usize::from(result == "same"),
                false => otherwise.push((version.clone(), record)),
            }
        }
    }
    let known = crate::verified::JUDGED_OTHERWISE;
    let known: Vec<_> = known.iter().map(|(version, record)| (version.to_string(), record.to_string())).collect();
    assert_eq!(otherwise, known);
    assert!(same > 100, "{same}");
}

#[test]
fn a_record_alone_is_judged_with_the_exit_code_of_one_that_stays_as_it_is() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        for record in kept::records(&version).iter().filter(|record| record.contains("pump")) {
            let journal = kept::journal(&version, record);
            let (_, path) = kept_procedure(&shop, &journal);
            let ran = shop.ask(&["rejudge", record, "--with", &path]);
            assert_eq!(ran.code, 0, "{version} {record}: {}\n{}", ran.out, ran.err);
            assert!(!ran.out.contains("DIFFERS"), "{version} {record}: {}", ran.out);
            assert_eq!(std::fs::read(shop.journal_of(record)).unwrap(), journal);
        }
    }
}
