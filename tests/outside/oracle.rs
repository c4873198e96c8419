//! Reference libraries, run live.
#![expect(clippy::disallowed_methods, reason = "another program is asked, which the environment names")]

use serde_json::{Value, json};
use std::io::{Read, Write};
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// Rows of numbers.
pub type Rows = Vec<Vec<f64>>;

/// The interpreter that has the libraries. Never skipped in silence.
fn python() -> PathBuf {
    let given = std::env::var_os("OHMWRIGHT_PYTHON").map(PathBuf::from);
    let python =
        given.unwrap_or_else(|| PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracles/.venv/bin/python")));
    assert!(
        python.exists(),
        "{} is not there: run tests/oracles/install, or name a Python that has tests/oracles/requirements.txt in OHMWRIGHT_PYTHON",
        python.display()
    );
    python
}

/// What a library says to each row.
pub fn ask(library: &str, question: &str, rows: &Rows) -> Rows {
    let mut child = Command::new(python())
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracles/answer.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let request = json!({ "library": library, "ask": question, "rows": rows }).to_string() + "\n";
    // The answer comes only when the whole request was read, so that one after the other can't block.
    child.stdin.take().unwrap().write_all(request.as_bytes()).unwrap();
    let mut text = String::new();
    child.stdout.take().unwrap().read_to_string(&mut text).unwrap();
    assert!(child.wait().unwrap().success(), "the oracle of {library} failed; tests/oracles/install may help");
    let answer: Value = serde_json::from_str(&text).unwrap();
    assert!(answer["error"].is_null(), "{library}, {question}: {} (tests/oracles/install may help)", answer["error"]);
    let answers: Rows = serde_json::from_value(answer["answers"].clone()).unwrap();
    assert_eq!(answers.len(), rows.len());
    answers
}

/// Asks and compares, row by row and number by number.
pub fn compare(
    library: &str,
    question: &str,
    rows: &Rows,
    relative: f64,
    absolute: f64,
    mut ours: impl FnMut(&[f64]) -> Vec<f64>,
) {
    let answers = ask(library, question, rows);
    let mut compared = 0;
    for (row, theirs) in rows.iter().zip(answers) {
        let ours = ours(row);
        assert_eq!(ours.len(), theirs.len(), "{question}");
        for (one, other) in ours.iter().zip(&theirs) {
            let allowed = absolute + relative * other.abs();
            assert!((one - other).abs() <= allowed, "{library}, {question}{row:?}: {ours:?}, and it says {theirs:?}");
            compared += 1;
        }
    }
    assert!(compared >= 1000, "only {compared} numbers of {question}");
}
