//! What a proof tried beside the true answers, and the branches that never ran.

use super::table::{harmless, table_or_lines, wrapped};
use crate::model::proof::coverage::Script;
use crate::model::proof::slip::{RestsOnAnswer, SlipFound};
use crate::model::proof::whole::Proof;
use std::fmt::Write;

/// How many branches that never ran are listed of a file.
const BRANCHES: usize = 20;

/// The hidden fault, in words.
pub(super) fn faults(faults: &[String]) -> String {
    if faults.is_empty() { "(healthy)".to_owned() } else { faults.join(" + ") }
}

/// Slips, answers and branches, as far as there is something to say.
pub(super) fn text(proof: &Proof, width: usize) -> String {
    let mut out = String::new();
    if let Some(slips) = &proof.slips {
        list_slips(&mut out, "Slips after which a good part would be replaced", &slips.replaces_good, width);
        list_slips(&mut out, "Slips at which the script stops with an error", &slips.errors, width);
        list_slips(
            &mut out,
            "Slips after which a fault that is still in is called repaired (they replace no part, and do not fail the proof)",
            &slips.called_repaired,
            width,
        );
        list_slips(
            &mut out,
            "Actions that were confirmed and not done, after which a good part would be replaced (no procedure can see this)",
            &slips.not_done,
            width,
        );
    }
    if let Some(answers) = &proof.answers {
        list_answers(&mut out, "Rests on an answer alone", &answers.rests_on_an_answer, width);
        list_answers(&mut out, "Answers at which the script stops with an error", &answers.errors, width);
        if !answers.cut.is_empty() {
            let cases: Vec<String> = answers.cut.iter().map(|case| faults(case)).collect();
            let words = format!("\ncut: there are more ways to answer than were tried, with {}", cases.join(", "));
            let _ = writeln!(out, "{}", wrapped(&harmless(&words), width, "", "  "));
        }
    }
    for script in proof.coverage.scripts() {
        out.push_str(&never_ran(script, width));
    }
    out
}

/// The branches of a file that never ran.
pub fn never_ran(script: &Script, width: usize) -> String {
    let never: Vec<String> =
        script.never_ran().map(|branch| format!("  line {}: {}", branch.line, branch.kind.words())).collect();
    if never.is_empty() {
        return String::new();
    }
    let heading = format!("{}: {} of {} branches never ran", script.file, never.len(), script.branches.len());
    let mut out = format!("\n{}\n", wrapped(&harmless(&heading), width, "", "  "));
    for line in never.iter().take(BRANCHES) {
        let _ = writeln!(out, "{line}");
    }
    if never.len() > BRANCHES {
        let _ = writeln!(out, "  … and {} more; `--coverage FILE` writes them all", never.len() - BRANCHES);
    }
    out
}

fn list_slips(out: &mut String, heading: &str, found: &[SlipFound], width: usize) {
    if found.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = found
        .iter()
        .map(|found| {
            vec![
                harmless(&if found.after_repair {
                    format!("after the repair, {}", found.at)
                } else {
                    found.at.clone()
                }),
                found.slip.words().to_owned(),
                found.runs.to_string(),
                harmless(&faults(&found.faults)),
                harmless(&found.came_to),
            ]
        })
        .collect();
    let heading = format!("\n{heading}:");
    let _ = writeln!(out, "{}", wrapped(&heading, width, "", ""));
    let columns = ["at", "slip", "runs", "first with", "came to"];
    let _ = writeln!(out, "{}", table_or_lines(width, &columns, &rows, &[2]));
}

fn list_answers(out: &mut String, heading: &str, found: &[RestsOnAnswer], width: usize) {
    if found.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = found
        .iter()
        .map(|found| {
            let said: Vec<String> = found.said.iter().map(|said| format!("{}: {}", said.prompt, said.answer)).collect();
            vec![
                harmless(&faults(&found.faults)),
                harmless(&said.join("; ")),
                found.runs.to_string(),
                harmless(&found.came_to),
            ]
        })
        .collect();
    let _ = writeln!(out, "\n{heading}:");
    let _ = writeln!(out, "{}", table_or_lines(width, &["with", "answered", "runs", "came to"], &rows, &[2]));
}
