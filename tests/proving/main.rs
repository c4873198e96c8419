//! Every shipped procedure that has a circuit is proven on it: no fault missed, none misjudged, no good part condemned.
#![expect(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is a failed test")]

use ohmwright::circuit::Circuit;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::model::proof::{Judgement, Proof};
use ohmwright::report::proof::{fault_by_prompt, text};
use ohmwright::script::diagnose::Source;
use ohmwright::script::procedure::Procedure;
use ohmwright::script::prove::Proving;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

/// Vehicles for each case, each with other part tolerances and another meter error.
const SAMPLES: u64 = 25;
/// Vehicles for each pair of faults.
const SAMPLES_OF_PAIRS: u64 = 5;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn source(path: &str) -> Option<Source> {
    let text = std::fs::read_to_string(root().join(path)).ok()?;
    Some(Source { file: path.to_owned(), text })
}

fn procedure(name: &str) -> Procedure {
    let found = source(&format!("procedures/{name}.rhai")).unwrap();
    Procedure::compile(name, found, &|library| source(&format!("stdlib/{library}.rhai")))
        .unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn proving(procedure: Procedure, circuit: &str, samples: u64) -> Proving {
    let file = format!("procedures/circuits/{circuit}.toml");
    let text = source(&file).unwrap().text;
    let circuit_read = Circuit::parse(&text, &file).unwrap_or_else(|error| panic!("{error}"));
    Proving {
        procedure: Arc::new(procedure),
        circuit: Arc::new(circuit_read),
        circuit_name: circuit.to_owned(),
        samples,
        seed: 1,
        pairs: false,
        meter: bench_meter(),
    }
}

fn prove(proving: &Proving) -> Proof {
    let pool = rayon::ThreadPoolBuilder::new().stack_size(ohmwright::script::engine::STACK).build().unwrap();
    pool.install(|| proving.prove(&|| {})).unwrap_or_else(|problem| panic!("{problem}"))
}

/// Every shipped procedure that has a circuit, with that circuit.
fn with_circuits() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(root().join("procedures")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "rhai") {
            continue;
        }
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        if let Some(circuit) = procedure(&name).header.circuit {
            found.push((name, circuit));
        }
    }
    found
}

#[test]
fn every_shipped_procedure_names_every_fault_of_its_circuit_and_condemns_nothing_good() {
    let mut proven = 0;
    let mut bad = Vec::new();
    for (name, circuit) in with_circuits() {
        let proof = prove(&proving(procedure(&name), &circuit, SAMPLES));
        proven += 1;
        assert!(proof.cases.len() > 4, "{name}: a circuit with hardly a fault proves nothing");
        if !proof.is_clean() {
            bad.push(text(&proof, 120));
        }
        assert_eq!(proof.fraction_detected(), Some(1.0), "{name}");
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert!(proven >= 13, "{proven} procedures were proven");
}

/// What a pair comes to that goes astray, and why nothing better can be asked of the procedure.
const PAIRS_ASTRAY: [(&str, &str, Judgement, &str); 8] = [
    ("charging", "regulator_high + output_cable_corroded", Judgement::Missed, HIDDEN),
    ("charging", "regulator_high + positive_clamp_corroded", Judgement::Missed, HIDDEN),
    ("data_bus", "engine_terminator_open + extra_terminator", Judgement::Missed, HIDDEN),
    ("data_bus", "dash_terminator_open + extra_terminator", Judgement::Missed, HIDDEN),
    ("solenoid_high_side", "coil_shorted + connector_pin_corroded", Judgement::Missed, HIDDEN),
    ("temperature_sensor", "sensor_reads_hot + sensor_reads_cold", Judgement::Missed, HIDDEN),
    ("temperature_sensor", "sensor_reads_hot + connector_pin_corroded", Judgement::Missed, HIDDEN),
    ("solenoid_high_side", "feed_wire_to_ground + feed_wire_to_battery", Judgement::Wrong, FLAT),
];
const HIDDEN: &str = "one makes up for the other: everything that is read is in, and the circuit works";
const FLAT: &str =
    "the two join battery and ground: it reads as a flat battery, and the correction is to find out why it is flat";

#[test]
fn of_two_faults_one_is_named_and_then_the_other_or_the_pair_is_listed_with_its_reason() {
    let mut astray = BTreeSet::new();
    for (name, circuit) in with_circuits() {
        let mut proving = proving(procedure(&name), &circuit, SAMPLES_OF_PAIRS);
        proving.pairs = true;
        let proof = prove(&proving);
        assert_eq!(proof.pairs.len() + proof.cases.len(), proving.cases(), "{name}");
        for case in &proof.pairs {
            let Some(astray_run) = &case.astray else { continue };
            let pair = case.faults.join(" + ");
            // Hidden is what the readings say, not what somebody thought of a pair once.
            let hidden = astray_run.reads_like.iter().any(String::is_empty);
            assert_eq!(hidden, astray_run.judgement == Judgement::Missed, "{name}: {pair}");
            if astray_run.judgement == Judgement::Wrong {
                assert_eq!(astray_run.came_to, "battery_low", "{name}: {pair}: {}", text(&proof, 120));
            }
            astray.insert((name.clone(), pair, astray_run.judgement));
        }
    }
    let listed: BTreeSet<_> = PAIRS_ASTRAY
        .iter()
        .map(|(name, pair, judgement, why)| {
            assert!(!why.is_empty(), "{pair}");
            ((*name).to_owned(), (*pair).to_owned(), *judgement)
        })
        .collect();
    assert_eq!(astray, listed);
}

#[test]
fn a_procedure_that_condemns_a_good_part_is_found_out() {
    let text = "//! title = \"Guesses\"\n//! revision = 1\n//! circuit = \"flap_sensor\"\n//! [causes]\n//! sensor_stuck = { cause = 'x', correction = 'y' }\nkey_on();\nlet rest = read(\"rest\", \"Signal\", between(0.4.V, 0.6.V), across(\"signal\", \"ground\"));\nif !rest.ok { conclude(\"sensor_stuck\"); }\nconclude(\"not_present\");\n";
    let guesses =
        Procedure::compile("guesses", Source { file: "guesses.rhai".into(), text: text.into() }, &|_| None).unwrap();
    let proof = prove(&proving(guesses, "flap_sensor", 5));
    assert!(!proof.is_clean());
    assert!(proof.condemned() > 0);
    let open = proof.cases.iter().find(|case| case.faults == ["signal_wire_open"]).unwrap();
    assert!(open.astray.is_some() || open.count(Judgement::Right) == open.runs);
    let (heading, rows) = fault_by_prompt(&proof);
    assert_eq!(heading, ["fault", "cause", "how_common", "rest"]);
    assert_eq!(rows.len(), proof.cases.len());
}

#[test]
fn a_prompt_that_was_not_reached_is_not_run_and_seeds_repeat() {
    let proving = proving(procedure("flap_sensor"), "flap_sensor", 3);
    let (one, other) = (prove(&proving), prove(&proving));
    assert_eq!(one, other);
    let (heading, rows) = fault_by_prompt(&one);
    let track = heading.iter().position(|prompt| prompt == "track").unwrap();
    let row = rows.iter().find(|row| row[0] == "reference_wire_open").unwrap();
    assert_eq!(row[track], "not run");
    let healthy = rows.iter().find(|row| row[0] == "(healthy)").unwrap();
    assert_eq!(healthy[track], "0");
}
