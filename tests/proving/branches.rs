//! Which lines and branches ran: counted as they are written, and without a change of what a procedure does.

use super::small::{FAULTS, HEADER, on_lamp};
use super::{procedure, prove, proving, with_circuits};
use ohmwright::model::proof::coverage::{BranchKind, Coverage};
use ohmwright::report::lcov::lcov;
use ohmwright::script::prove::counted::Counted;
use ohmwright::script::prove::proving::{Counting, Proving};
use std::process::Command;

/// Each kind of branch, with the number of the line behind it.
const EVERY_KIND: &str = r#"key_on(); // 1
let feed = read("feed", "Feed { && } || else", at_least(9.V), across("feed", "battery_negative"));
let n = 0; /* if n > 1 { && } */
for x in [1, 2] { n += x; } // 4
for x in [] { n += 100; } // 5
while n > 100 { n -= 1; } // 6
if feed.ok && n == 3 { n += 1; } // 7
else if feed.low { n += 2; } // 8
if n > 50 || feed.skipped { n = 0; } else { n += 1; } // 9
let half = if n == 5 { "a" } else if n == 6 { "b" } else { "c" }; // 10
fn never() { let x = 1; x } // 11
let later = |x| if x > 1 { 1 } else { 2 }; // 12
if later.call(2) == 1 { n += 1; } // 13
loop { n += 1; if n > 8 { break; } } // 14
if feed.low { // 15
    conclude("fuse"); // 16
} // 17
n += 1; // 18
conclude("not_present"); // 19
"#;

/// Each branch as its line in the script, what it is, and how often it ran.
fn branches(coverage: &Coverage) -> Vec<(usize, BranchKind, u64)> {
    let script = coverage.procedure.as_ref().unwrap();
    script.branches.iter().map(|branch| (branch.line - HEADER, branch.kind, branch.runs)).collect()
}

fn only_cases(mut proving: Proving) -> Proving {
    (proving.samples, proving.slips) = (1, false);
    proving
}

#[test]
fn each_kind_of_branch_is_counted_on_its_line() {
    use BranchKind::{BodyNotRun, BodyRun, Else, NoElse, RightSide, Then};
    // The healthy lamp, the lamp open and its ground open read 12 V at the feed; with the fuse open it is 0 V.
    let proof = prove(&only_cases(on_lamp(FAULTS, EVERY_KIND)));
    assert_eq!(proof.coverage.runs, 4);
    let expected = [
        (4, BodyRun, 4),
        (4, BodyNotRun, 0),
        (5, BodyRun, 0),
        (5, BodyNotRun, 4),
        (6, BodyRun, 0),
        (6, BodyNotRun, 4),
        (7, Then, 3),
        (7, RightSide, 3),
        (8, Then, 1),
        (8, NoElse, 0),
        (9, Then, 0),
        (9, Else, 4),
        (9, RightSide, 4),
        (10, Then, 3),
        (10, Then, 1),
        (10, Else, 0),
        (12, Then, 4),
        (12, Else, 0),
        (13, Then, 4),
        (13, NoElse, 0),
        (14, Then, 4),
        (14, NoElse, 7),
        (15, Then, 1),
        (15, NoElse, 3),
    ];
    let mut found = branches(&proof.coverage);
    found.sort_by_key(|(line, kind, runs)| (*line, format!("{kind:?}"), *runs));
    let mut expected = expected.to_vec();
    expected.sort_by_key(|(line, kind, runs)| (*line, format!("{kind:?}"), *runs));
    assert_eq!(found, expected);
    let lines: Vec<(usize, u64)> =
        proof.coverage.procedure.unwrap().lines.iter().map(|line| (line.line - HEADER, line.runs)).collect();
    // A line behind a conclusion ran only where nothing was concluded.
    for line in [(1, 4), (2, 4), (11, 0), (15, 4), (16, 1), (18, 3), (19, 3)] {
        assert!(lines.contains(&line), "{line:?} in {lines:?}");
    }
}

#[test]
fn a_branch_of_a_decision_that_was_never_come_to_is_told_from_one_that_was() {
    let proof = prove(&only_cases(on_lamp(
        FAULTS,
        "conclude(\"not_present\");\nif 1 > 2 { conclude(\"fuse\"); }\n\nfn unused() { if 1 > 2 && 2 > 1 { 1 } else { 2 } }\n",
    )));
    let script = proof.coverage.procedure.as_ref().unwrap();
    assert_eq!(script.never_ran().count(), 5);
    assert!(script.branches.iter().all(|branch| !branch.reached));
    let text = lcov(proof.coverage.scripts());
    assert!(text.contains("BRDA:9,0,0,-\nBRDA:9,0,1,-\n"), "{text}");
}

#[test]
fn counting_changes_nothing_that_a_procedure_does() {
    for (name, circuit) in with_circuits() {
        let mut proving = proving(procedure(&name), &circuit, 2);
        let plain = prove(&proving);
        proving.counting = Counting::EveryRun;
        let mut counted = prove(&proving);
        let coverage = std::mem::take(&mut counted.coverage);
        assert_eq!(counted, plain, "{name}");
        let script = coverage.procedure.unwrap();
        assert!(!script.lines.is_empty(), "{name}: lines are counted");
        let written = procedure(&name).source.text.matches("if ").count();
        assert!(script.branches.len() >= written, "{name}: {} branches of {written} decisions", script.branches.len());
        assert!(script.branches.iter().any(|branch| branch.runs > 0), "{name}");
    }
}

#[test]
fn only_the_first_vehicle_of_each_case_is_counted_where_nothing_else_is_asked_for() {
    let mut proving = on_lamp(FAULTS, EVERY_KIND);
    (proving.slips, proving.counting) = (false, Counting::FirstVehicle);
    assert_eq!(prove(&proving).coverage.runs, 4);
    proving.counting = Counting::EveryRun;
    assert_eq!(prove(&proving).coverage.runs, 12);
    assert!(Counted::of(&proving.procedure).is_some());
}

#[test]
#[expect(clippy::disallowed_macros, reason = "what is left out is said")]
fn the_tracefile_is_read_by_a_coverage_viewer() {
    let proof = prove(&only_cases(on_lamp(FAULTS, EVERY_KIND)));
    let text = lcov(proof.coverage.scripts());
    let (found, hit) = (24, 16);
    assert!(text.contains(&format!("\nBRF:{found}\nBRH:{hit}\n")), "{text}");
    let folder = tempfile::tempdir().unwrap();
    let tracefile = folder.path().join("p.info");
    std::fs::write(&tracefile, &text).unwrap();
    std::fs::write(folder.path().join("p.rhai"), super::small::with_header(EVERY_KIND)).unwrap();
    let call = |program: &str, arguments: &[&str]| {
        Command::new(program).args(arguments).arg(&tracefile).current_dir(folder.path()).output()
    };
    let Ok(shown) = call("lcov", &["--rc", "lcov_branch_coverage=1", "--summary"]) else {
        eprintln!("lcov is not installed: the rest is left out");
        return;
    };
    let said = String::from_utf8_lossy(&[shown.stdout, shown.stderr].concat()).into_owned();
    assert!(shown.status.success(), "{said}");
    assert!(said.contains(&format!("({hit} of {found} branches)")), "{said}");
    let pages = call("genhtml", &["--branch-coverage", "--output-directory", "pages"]).unwrap();
    assert!(pages.status.success(), "{}", String::from_utf8_lossy(&pages.stderr));
    let mut page = String::new();
    for entry in walkdir::WalkDir::new(folder.path().join("pages")) {
        let path = entry.unwrap().into_path();
        if path.to_string_lossy().ends_with("p.rhai.gcov.html") {
            page = std::fs::read_to_string(path).unwrap();
        }
    }
    assert!(page.contains("conclude"), "the page shows the script");
}
