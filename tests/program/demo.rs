//! The demo data: every answers file comes to a cause, the table to what it says of itself.

use std::path::Path;
use std::process::{Command, Output};

fn demo(records: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ohmwright"))
        .args(["--width", "80", "--records"])
        .arg(records)
        .args(arguments)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/shop"))
        .env_clear()
        .env("OHMWRIGHT_CLOCK", "2026-11-24T08:00:00Z")
        .output()
        .unwrap()
}

#[test]
fn every_answers_file_comes_to_a_cause() {
    let made = tempfile::tempdir().unwrap();
    let mut files = 0;
    for entry in std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/answers")).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let procedure = text.lines().find_map(|line| line.strip_prefix("procedure = ")).unwrap().trim_matches('"');
        let output = demo(made.path(), &["run", procedure, "--answers", path.to_str().unwrap()]);
        let shown = String::from_utf8_lossy(&output.stdout);
        let said = String::from_utf8_lossy(&output.stderr);
        let exit = output.status.code();
        assert_eq!(exit, Some(0), "{path:?}\n{shown}\n{said}");
        assert!(shown.contains("Found: ") || shown.contains("did not show"), "{path:?}\n{shown}");
        files += 1;
    }
    assert!(files >= 8, "{files} answers files");
}

/// An answers file of the demo data with one answer changed: exit code and what is said.
fn with_another_answer(file: &str, line: &str, other: &str) -> (Option<i32>, String) {
    let made = tempfile::tempdir().unwrap();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/answers").join(file);
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.contains(line), "{line} in {file}");
    let procedure =
        text.lines().find_map(|line| line.strip_prefix("procedure = ")).unwrap().trim_matches('"').to_owned();
    let answers = made.path().join("answers.toml");
    std::fs::write(&answers, text.replacen(line, other, 1)).unwrap();
    let output = demo(made.path(), &["run", &procedure, "--answers", answers.to_str().unwrap()]);
    let shown = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    (output.status.code(), shown)
}

#[test]
fn over_range_on_volts_ends_a_run_without_a_cause() {
    for (file, line, other) in [
        ("fuel-truck-battery.toml", "second_rest = \"12.61\"", "second_rest = \"OL\""),
        ("tanker-slow-crank.toml", "motor = \"19.54\"", "motor = \"OL\""),
        ("bus-charging.toml", "rest = \"12.68\"", "rest = \"OL\""),
        ("school-van-pedal.toml", "supply_2 = \"5.013\"", "supply_2 = \"OL\""),
    ] {
        let (exit, shown) = with_another_answer(file, line, other);
        assert_eq!(exit, Some(5), "{file}: {shown}");
        assert!(shown.contains("Unfinished: the meter shows OL"), "{file}: {shown}");
    }
}

#[test]
fn a_battery_that_no_vehicle_has_is_asked_about() {
    let (exit, shown) = with_another_answer("flap-signal-wire.toml", "battery = 12.56", "battery = \"125\"");
    assert_eq!(exit, Some(4), "{shown}");
    assert!(shown.contains("Expected about 12.5 V"), "{shown}");
    let (exit, shown) = with_another_answer("flap-signal-wire.toml", "battery = 12.56", "battery = \"253\"");
    assert_eq!(exit, Some(4), "{shown}");
    assert!(shown.contains("This vehicle's system does not have that many volts"), "{shown}");
    let (exit, shown) = with_another_answer("flap-signal-wire.toml", "battery = 12.56", "battery = \"253; 253\"");
    assert_eq!(exit, Some(5), "{shown}");
    assert!(
        shown.contains("Unfinished: “Battery at rest, key off, on the")
            && shown.contains("shows a voltage that can kill"),
        "{shown}"
    );
}

#[test]
fn the_fleet_has_rows_that_wait_and_the_rest_comes_to_a_cause() {
    let made = tempfile::tempdir().unwrap();
    let table = "../fleet-batteries.csv";
    let output = demo(made.path(), &["batch", "battery", table]);
    let shown = String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(4), "{shown}");
    assert!(shown.contains("44 rows: 3 waiting, 0 failed, 0 without a cause."), "{shown}");
    for cell in ["4,998", "weak", "empty"] {
        assert!(shown.contains(cell), "{cell} in {shown}");
    }
}
