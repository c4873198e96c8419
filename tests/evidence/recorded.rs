//! The readings of records: of every shipped procedure on its circuit with its faults, none loses the truth.

use crate::vehicles::{circuit, text};
use ohmwright::circuit::meter::bench_meter;
use ohmwright::evidence::possible::{possible, slices_left};
use ohmwright::evidence::proposal::proposal;
use ohmwright::evidence::rival::listed;
use ohmwright::evidence::table::Table;
use ohmwright::evidence::taken::{LeftOut, taken};
use ohmwright::model::event::Entry;
use ohmwright::model::record::Record;
use ohmwright::model::started::Hidden;
use ohmwright::model::still_possible::StillPossible;
use ohmwright::shop::still_possible::Evidence;
use std::process::Command;

/// The shipped procedures with their circuits.
const SHIPPED: [(&str, &str); 13] = [
    ("alternator_load", "alternator_load"),
    ("battery", "battery"),
    ("charging", "charging"),
    ("data_bus", "data_bus"),
    ("flap_sensor", "flap_sensor"),
    ("intermittent", "intermittent"),
    ("key_off_draw", "key_off_draw"),
    ("lamp_drop", "lamp"),
    ("module_supply", "module_supply"),
    ("pedal_sensor", "pedal_sensor"),
    ("relay_low_side", "relay_low_side"),
    ("starter_drop", "starter"),
    ("temperature_sensor", "temperature_sensor"),
];
/// Faults of each circuit; all of them with `OHMWRIGHT_ALL_VEHICLES=1`.
const FAULTS: usize = 3;

/// The records of a procedure on its own circuit, one for each of these faults.
fn records(procedure: &str, faults: &[&str]) -> Vec<Record> {
    let place = tempfile::Builder::new().prefix("ohmwright-test-").tempdir().unwrap();
    let rows = faults.iter().enumerate().map(|(number, fault)| format!("{number},{fault},{number}\n"));
    let table = format!("vehicle,fault,seed\n{}", rows.collect::<String>());
    std::fs::write(place.path().join("t.csv"), table).unwrap();
    let ran = Command::new(env!("CARGO_BIN_EXE_ohmwright"))
        .args(["batch", procedure, "t.csv", "--simulate"])
        .current_dir(place.path())
        .env_clear()
        .env("HOME", place.path())
        .env("OHMWRIGHT_CLOCK", "2026-11-24T09:00:00Z")
        .output()
        .unwrap();
    let journals =
        walkdir::WalkDir::new(place.path()).sort_by_file_name().into_iter().map(|entry| entry.unwrap().into_path());
    let journals = journals.filter(|path| path.file_name() == Some("journal.jsonl".as_ref()));
    let record = |path: std::path::PathBuf| {
        let journal = std::fs::read_to_string(path).unwrap();
        let entries: Vec<Entry> = journal.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        Record::of(&entries).unwrap()
    };
    let records: Vec<Record> = journals.map(record).collect();
    assert_eq!(records.len(), faults.len(), "{procedure}: {}", String::from_utf8_lossy(&ran.stderr));
    records
}

fn fault_of(record: &Record) -> Option<String> {
    match &record.started.simulated.as_ref().unwrap().hidden {
        Hidden::Open { faults, .. } => faults.first().map(|fault| fault.id.clone()),
        Hidden::Sealed { .. } => panic!("nothing is sealed here"),
    }
}

#[test]
fn no_record_of_a_shipped_procedure_loses_its_truth() {
    let all = std::env::var_os("OHMWRIGHT_ALL_VEHICLES").is_some();
    let (mut records_read, mut readings_read, mut lost) = (0, 0, Vec::new());
    for (procedure, name) in SHIPPED {
        let circuit = circuit(&text(name));
        let mut faults: Vec<&str> = circuit.faults().iter().map(|fault| fault.id.0.as_str()).collect();
        if !all {
            let every = faults.len().div_ceil(FAULTS);
            faults = faults.into_iter().step_by(every).collect();
        }
        faults.push("none");
        let mut table = Table::new(circuit.clone(), bench_meter(), listed(&circuit));
        for record in records(procedure, &faults) {
            let truth = fault_of(&record);
            let rival =
                table.rivals().iter().position(|rival| rival.fault.as_ref().map(|fault| fault.id.0.clone()) == truth);
            let taken = taken(&mut table, &record, Some(&bench_meter())).unwrap();
            let unknown = taken
                .left_out
                .iter()
                .find(|(_, why)| matches!(why, LeftOut::UnknownToTheCircuit(_) | LeftOut::Unreadable));
            assert_eq!(unknown, None, "{procedure}, {truth:?}");
            records_read += 1;
            readings_read += taken.readings.len();
            for count in 1..=taken.readings.len() {
                if slices_left(&mut table, rival.unwrap(), &taken.readings[..count]).unwrap().is_empty() {
                    let (text, says) = (&taken.texts[count - 1], taken.readings[count - 1].says);
                    lost.push(format!("{procedure}, {truth:?}: by {}, {}, {says:?}", text.id, text.shown));
                    break;
                }
            }
        }
    }
    assert!(readings_read > 3 * records_read, "{readings_read} readings in {records_read} records");
    println!("{records_read} records with {readings_read} readings: {} lose the truth", lost.len());
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}

#[test]
fn what_is_excluded_is_said_by_reading_and_what_is_left_by_place() {
    let text = text("flap_sensor");
    let record = &records("flap_sensor", &["reference_wire_open"])[0];
    let circuit = ohmwright::circuit::file::parse(&text, "flap_sensor.toml").unwrap();
    let mut evidence = Evidence::of(circuit, Some(bench_meter()), true);
    let found = evidence.after(record).unwrap();
    let still = &found.still;
    assert!(still.considered > 29 && still.contradiction.is_none() && still.widened.is_none(), "{still:?}");
    assert!(!still.healthy, "a broken wire is no healthy vehicle");
    let left: Vec<&String> = still.left.iter().flat_map(|at| &at.faults).collect();
    assert!(left.iter().any(|fault| fault.starts_with("reference wire broken")), "{left:?}");
    let excluded: usize = still.readings.iter().map(|reading| reading.excluded.len()).sum();
    // A healthy vehicle is excluded, too, and is no fault.
    assert_eq!(excluded - 1 + left.len(), still.considered);
    let shown = ohmwright::report::still_possible::text(still, false, 100);
    let at = |words: &str| shown.find(words).unwrap_or_else(|| panic!("{words} in\n{shown}"));
    assert!(
        at("Excluded by reading ") < at("Still possible, ") && at("Still possible, ") < at("reference wire broken")
    );
    assert!(at("a vehicle without a fault") < at("Still possible, "), "{shown}");
    assert!(!shown.contains("likely"), "{shown}");
    // On a real vehicle an example's tolerances are taken wider, and never exclude more.
    let circuit = ohmwright::circuit::file::parse(&text, "flap_sensor.toml").unwrap();
    let mut wider = Evidence::of(circuit, Some(bench_meter()), false);
    let wide = wider.after(record).unwrap().still;
    assert!(wide.widened.is_some_and(|factor| factor > 1.0));
    let names = |still: &StillPossible| -> Vec<String> {
        still.left.iter().flat_map(|at| &at.faults).map(|fault| fault.split(" (").next().unwrap().to_owned()).collect()
    };
    assert!(names(still).iter().all(|fault| names(&wide).contains(fault)), "{wide:?}");
}

#[test]
fn a_record_leaves_few_rivals_and_a_proposal_tells_some_of_them_apart() {
    let circuit = circuit(&text("flap_sensor"));
    let mut table = Table::new(circuit.clone(), bench_meter(), listed(&circuit));
    let mut proposed = 0;
    for record in records("flap_sensor", &["ground_wire_corroded", "reference_wire_open", "signal_wire_open"]) {
        let truth = fault_of(&record).unwrap();
        let taken = taken(&mut table, &record, Some(&bench_meter())).unwrap();
        // After half of the readings something is left to tell apart.
        let half = &taken.readings[..taken.readings.len() / 2];
        let found = possible(&mut table, half).unwrap();
        let left: Vec<&str> =
            (0..found.rivals.len()).filter(|rival| found.has(*rival)).map(|rival| table.rivals()[rival].id()).collect();
        assert!(left.contains(&truth.as_str()) && left.len() < 12, "{truth}: {left:?}");
        println!("{truth}: {} readings leave {left:?}", half.len());
        if let Some(proposal) = proposal(&mut table, &found, taken.stands).unwrap() {
            proposed += 1;
            assert!(proposal.parts.len() > 1, "a proposal tells apart: {proposal:?}");
            let mut told: Vec<usize> = proposal.parts.iter().flatten().copied().collect();
            told.sort_unstable();
            assert_eq!(told, (0..found.rivals.len()).filter(|rival| found.has(*rival)).collect::<Vec<_>>());
            assert!(proposal.next.expected >= proposal.next.minutes);
            println!(
                "  next: {:?}, {:.1} of {:.1} minutes",
                proposal.candidate, proposal.next.minutes, proposal.next.expected
            );
        }
    }
    assert!(proposed > 0, "half of the readings leave something to tell apart");
}
