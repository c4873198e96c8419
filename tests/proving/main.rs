//! Every shipped procedure that has a circuit is proven on it: no fault missed, none misjudged, no good part condemned.
#![expect(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is a failed test")]

mod astray;
mod branches;
mod cautions;
mod judging;
mod looks;
mod rare;
mod skips;
mod slips;
mod small;
mod unseen;

use astray::{PAIRS_ASTRAY, PairAstray};
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::caution::CautionRules;
use ohmwright::model::job::Nominal;
use ohmwright::model::proof::case::Judgement;
use ohmwright::model::proof::whole::Proof;
use ohmwright::model::stamp::Stamp;
use ohmwright::report::proof::fault_by_prompt;
use ohmwright::report::proof_result::text;
use ohmwright::run::answerer::{Answerer, Answering, MeterInUse};
use ohmwright::run::journal::{FixedClock, Memory};
use ohmwright::run::session::{Parts, Session};
use ohmwright::script::diagnose::Source;
use ohmwright::script::execute::{EntryPoint, Finished, execute};
use ohmwright::script::procedure::Procedure;
use ohmwright::script::prove::proving::{Counting, Proving};
use ohmwright::script::prove::watch::Unwatched;
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

/// A run of one part of a procedure, on its circuit as it stands at the start, with this answerer.
fn run_with(proving: &Proving, entry_point: EntryPoint, answerer: Box<dyn Answerer>) -> Finished {
    let parts = Parts {
        journal: Box::new(Memory::default()),
        answerer,
        answering: Answering::unattended(AnsweredBy::Bench),
        clock: Box::new(FixedClock::at(Stamp::new("2026-01-05T08:00:00Z"))),
        rules: Arc::new(CautionRules::default()),
        meter: Arc::new(MeterInUse::of_bench(bench_meter())),
        causes: Arc::clone(&proving.procedure.causes),
        past: None,
    };
    let mut started = proving.procedure.started(AnsweredBy::Bench);
    started.nominal = proving.circuit.nominal().map(Nominal::quantity);
    started.vehicle = proving.circuit.start().clone();
    let session = Session::start(parts, started).unwrap();
    execute(&proving.procedure, entry_point, session, Some(Arc::new(proving.circuit.names())))
}

fn proving(procedure: Procedure, circuit: &str, samples: u64) -> Proving {
    let file = format!("procedures/circuits/{circuit}.toml");
    let text = source(&file).unwrap().text;
    let circuit_read = file::parse(&text, &file).unwrap_or_else(|error| panic!("{error}"));
    Proving {
        procedure: Arc::new(procedure),
        circuit: Arc::new(circuit_read),
        circuit_name: circuit.to_owned(),
        samples,
        seed: 1,
        pairs: false,
        generated: false,
        slips: false,
        counting: Counting::Nothing,
        meter: bench_meter(),
    }
}

/// Everything that a proof says.
fn report(proof: &Proof, width: usize) -> String {
    text(proof, width, true)
}

fn prove(proving: &Proving) -> Proof {
    let pool = rayon::ThreadPoolBuilder::new().stack_size(ohmwright::script::engine::STACK).build().unwrap();
    pool.install(|| proving.prove(&Unwatched)).unwrap_or_else(|problem| panic!("{problem}"))
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
        assert_eq!(proof.after_repair.len(), proof.cases.len(), "{name}: each fault is still in once");
        if !proof.is_clean() {
            bad.push(report(&proof, 120));
        }
        assert_eq!(proof.fraction_detected(), Some(1.0), "{name}");
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert!(proven >= 16, "{proven} procedures were proven");
}

#[test]
fn shipped_procedures_send_few_elsewhere_and_name_no_cause_in_vain() {
    let (mut held, mut above, mut padded) = (0, BTreeSet::new(), BTreeSet::new());
    for (name, circuit) in with_circuits() {
        let mut proving = proving(procedure(&name), &circuit, 1);
        if !proving.circuit.causes().iter().any(|cause| cause.declared) {
            // Judged by names alone, where both fail the proof.
            continue;
        }
        let held_up_to = |share: f64, proof: &Proof| {
            assert!(share <= 0.05, "{name}: {} % of the runs named no cause:\n{}", 100.0 * share, report(proof, 160));
        };
        let proof = prove(&proving);
        held_up_to(proof.without_a_cause().unwrap(), &proof);
        proving.generated = true;
        let proof = prove(&proving);
        assert!(!proof.generated.is_empty(), "{name}");
        if proof.without_a_cause().unwrap() > 0.05 {
            above.insert(name.clone());
        }
        padded.extend(proof.padding().into_iter().map(|(company, cause)| (name.clone(), company, cause)));
        held += 1;
    }
    assert_eq!(
        (above, padded),
        (BTreeSet::new(), BTreeSet::new()),
        "sent elsewhere with the family; named in company, and never there"
    );
    assert!(held > 0, "no shipped circuit says what its causes cover");
}

#[test]
fn a_check_after_the_repair_that_asks_too_little_is_found_out() {
    // It looks at the signal with the flap at rest: a fault that leaves that reading alone is called repaired.
    let text = "//! title = \"Checks little\"\n//! revision = 1\n//! circuit = \"flap_sensor\"\n//! [causes]\n\
        //! repaired = { cause = 'x', correction = 'None' }\n//! still_wrong = { cause = 'x', correction = 'y' }\n\
        conclude(\"not_present\");\n\
        fn after_repair() {\n    key_on();\n    \
            let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V), across(\"reference\", \"ground\"));\n    \
            if supply.high { unfinished(\"too much voltage for this check\"); }\n    \
            let rest = read(\"rest\", \"Signal\", between(0.4.V, 0.6.V), across(\"signal\", \"ground\"));\n    \
            if rest.ok && supply.ok { conclude(\"repaired\"); }\n    conclude(\"still_wrong\");\n}\n";
    let source = Source { file: "checks.rhai".into(), text: text.into() };
    let checks = Procedure::compile("checks", source, &|_| None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let proving = proving(checks, "flap_sensor", 5);
    let proof = prove(&proving);
    assert_eq!(proving.cases(), 2 * proof.cases.len());
    assert!(!proof.after_repair_is_clean() && !proof.is_clean());
    for (faults, judgement, said) in [
        (&[][..], Judgement::Right, "repaired"),
        (&["reference_wire_open"], Judgement::Right, "still_wrong"),
        (&["reference_wire_to_battery"], Judgement::NoConclusion, "no conclusion"),
        (&["sensor_worn"], Judgement::Missed, "repaired"),
    ] {
        let case = proof.after_repair.iter().find(|case| case.faults == faults).unwrap();
        assert_eq!(case.count(judgement), case.runs, "{faults:?}: {:?}", case.judged);
        assert_eq!(case.named.keys().collect::<Vec<_>>(), [said], "{faults:?}");
        assert_eq!(case.wrong_run.is_some(), judgement == Judgement::Missed, "{faults:?}");
    }
    let shown = report(&proof, 120);
    for words in
        ["The check after the repair, with each fault still in:", "runs of the check after the repair are wrong"]
    {
        assert!(shown.contains(words), "{words} in {shown}");
    }
    let (heading, rows) = fault_by_prompt(&proof);
    assert_eq!(heading, ["fault", "cause", "how_common", "after_repair.rest", "after_repair.supply"]);
    let row = rows.iter().find(|row| row[0] == "reference_wire_open").unwrap();
    assert_eq!(row[4], "1");
}

#[test]
fn of_two_faults_one_is_named_and_then_the_other_or_the_pair_is_listed_with_its_reason() {
    let mut astray = BTreeSet::new();
    for (name, circuit) in with_circuits() {
        let mut proving = proving(procedure(&name), &circuit, SAMPLES_OF_PAIRS);
        proving.pairs = true;
        let proof = prove(&proving);
        let cases = proof.pairs.len() + proof.cases.len() + proof.after_repair.len();
        assert_eq!(cases, proving.cases(), "{name}");
        let mut undecided = 0;
        for case in &proof.pairs {
            let Some(astray_run) = &case.wrong_run else { continue };
            let pair = case.faults.join(" + ");
            // Hidden is what the readings say, not what somebody thought of a pair once.
            let hidden = astray_run.reads_healthy;
            assert_eq!(hidden, astray_run.judgement == Judgement::Missed, "{name}: {pair}");
            // Two faults at once contradict what one would do: to name none, or nothing to replace, is honest.
            if matches!(astray_run.judgement, Judgement::NoConclusion | Judgement::SentElsewhere) {
                undecided += 1;
                continue;
            }
            astray.insert((name.clone(), pair, astray_run.judgement));
        }
        assert!(undecided * 100 <= proof.pairs.len() * 15, "{name}: {undecided} of {} pairs", proof.pairs.len());
    }
    let listed = |which: fn(&PairAstray) -> bool| -> BTreeSet<_> {
        PAIRS_ASTRAY
            .iter()
            .filter(|pair| which(pair))
            .map(|pair| {
                assert!(!pair.why.is_empty(), "{}", pair.faults);
                (pair.procedure.to_owned(), pair.faults.to_owned(), pair.judgement)
            })
            .collect()
    };
    let unlisted: Vec<_> = astray.difference(&listed(|_| true)).cloned().collect();
    assert!(unlisted.is_empty(), "went astray and are not listed: {unlisted:#?}");
    let mended: Vec<_> = listed(|pair| pair.often).difference(&astray).cloned().collect();
    assert!(mended.is_empty(), "are listed and went astray no more: {mended:#?}");
}

#[test]
fn a_procedure_that_condemns_a_good_part_is_found_out() {
    let text = "//! title = \"Guesses\"\n//! revision = 1\n//! circuit = \"flap_sensor\"\n//! [causes]\n//! sensor_stuck = { cause = 'x', correction = 'y' }\nkey_on();\nlet rest = read(\"rest\", \"Signal\", between(0.4.V, 0.6.V), across(\"signal\", \"ground\"));\nif !rest.ok { conclude(\"sensor_stuck\"); }\nconclude(\"not_present\");\n";
    let guesses =
        Procedure::compile("guesses", Source { file: "guesses.rhai".into(), text: text.into() }, &|_| None).unwrap();
    let proof = prove(&proving(guesses, "flap_sensor", 5));
    assert!(!proof.is_clean());
    assert!(proof.condemned() > 0);
    // It looks at one reading: an open signal wire pulls it down where the procedure wants it, a short to battery moves it.
    for (fault, judgement, came_to) in [
        ("signal_wire_open", Judgement::Missed, "not_present"),
        ("signal_wire_to_battery", Judgement::Wrong, "sensor_stuck"),
    ] {
        let case = proof.cases.iter().find(|case| case.faults == [fault]).unwrap();
        assert_eq!(case.count(judgement), case.runs, "{fault}: {:?}", case.judged);
        let astray = case.wrong_run.as_ref().unwrap();
        assert_eq!((astray.judgement, astray.came_to.as_str()), (judgement, came_to), "{fault}");
    }
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
