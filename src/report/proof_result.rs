//! A proof in one line, and the first run of it that went wrong.

use super::entry;
use super::proof::tables;
use super::proof_tries::faults;
use super::table::{harmless, wrapped};
use crate::model::event::Entry;
use crate::model::proof::case::{Case, Judgement};
use crate::model::proof::whole::Proof;
use crate::model::unit::significant;
use crate::model::words;
use std::fmt::Write;

/// Everything that a person is shown: one line, and of a proof that is not clean, or where they are asked for, the tables.
pub fn text(proof: &Proof, width: usize, with_tables: bool) -> String {
    let mut out = format!("{}\n", wrapped(&harmless(&line(proof)), width, "", "  "));
    out.push_str(&first_wrong(proof, width));
    if with_tables || !proof.is_clean() {
        out.push('\n');
        out.push_str(&tables(proof, width));
    }
    out
}

/// The proof in one line.
pub fn line(proof: &Proof) -> String {
    let name = &proof.procedure;
    let number = |count: usize, one: &str, many: &str| {
        format!("{} {}", thousands(count as u64), if count == 1 { one } else { many })
    };
    let tried = {
        let cases = proof.cases.iter().filter(|case| !case.faults.is_empty()).count();
        let mut tried =
            format!("{} × {}", number(proof.samples as usize, "vehicle", "vehicles"), number(cases, "fault", "faults"));
        if !proof.generated.is_empty() {
            let _ = write!(tried, ", {} generated", thousands(proof.generated.len() as u64));
        }
        if !proof.pairs.is_empty() {
            let _ = write!(tried, ", {}", number(proof.pairs.len(), "pair", "pairs"));
        }
        let slips = proof.slips.as_ref().map(|slips| slips.runs);
        let answers = proof.answers.as_ref().map(|answers| answers.runs);
        if let Some(runs) = slips.or(answers) {
            let _ = write!(tried, ", {} slips and answers", thousands(runs + answers.unwrap_or(0)));
        }
        tried
    };
    let mut parts = vec![];
    let counted = proof.coverage.procedure.is_some();
    if counted {
        parts.push(match proof.coverage.never_ran() {
            0 => "every branch ran".to_owned(),
            never => format!("{} never ran", number(never, "branch", "branches")),
        });
    }
    if proof.is_clean() {
        if let Some(percent) = proof.at_most_percent() {
            parts.push(format!("at most {} % a fault", significant(percent, 2)));
        }
        if let Some(share) = proof.without_a_cause().filter(|share| *share > 0.0) {
            parts.push(format!("{} % of the runs with a fault named no cause of it", significant(100.0 * share, 2)));
        }
        if let Some(not_shown) = Some(proof.count(Judgement::NotShown)).filter(|count| *count > 0) {
            parts.push(format!(
                "{} not noticed where the fault need not show",
                number(not_shown as usize, "run", "runs")
            ));
        }
        return format!("{name}: clean on this simulated circuit: {tried}; {}", parts.join("; "));
    }
    let wrong = problems(proof);
    let rest = if parts.is_empty() { String::new() } else { format!("; {}", parts.join("; ")) };
    format!("{name}: not clean on this simulated circuit: {}. Tried: {tried}{rest}", words::all(&wrong))
}

/// What is wrong, by kind.
fn problems(proof: &Proof) -> Vec<String> {
    let mut wrong = vec![];
    let mut add = |count: u64, one: &str, many: &str| {
        if count > 0 {
            wrong.push(format!("{} {}", thousands(count), if count == 1 { one } else { many }));
        }
    };
    add(proof.count(Judgement::Wrong), "run wrong", "runs wrong");
    add(proof.count(Judgement::Missed), "missed", "missed");
    if !proof.by_parts {
        add(proof.count(Judgement::NoConclusion), "run without a conclusion", "runs without a conclusion");
    }
    add(proof.hidden_wrong(), "run wrong where nobody notices the fault", "runs wrong where nobody notices the fault");
    let other: u64 = proof.pairs.iter().map(|case| case.count(Judgement::Right) - case.other_found).sum();
    add(other, "pair of which the other fault was not named", "runs of pairs in which the other fault was not named");
    let after = |wanted: &dyn Fn(&Case) -> u64| proof.after_repair.iter().map(wanted).sum::<u64>();
    add(
        after(&|case| {
            let honest = if case.faults.is_empty() { 0 } else { case.count(Judgement::NoConclusion) };
            case.runs_that_count() - case.count(Judgement::Right) - honest
        }),
        "run of the check after the repair is wrong",
        "runs of the check after the repair are wrong",
    );
    let not_asked = proof.every_case().filter(|case| case.not_asked.is_some()).count();
    add(not_asked as u64, "case can't be asked", "cases can't be asked");
    if let Some(slips) = &proof.slips {
        add(slips.replaces_good.len() as u64, "slip replaces a good part", "slips replace a good part");
        add(slips.errors.len() as u64, "slip stops the script with an error", "slips stop the script with an error");
    }
    if let Some(answers) = &proof.answers {
        let rests = answers.rests_on_an_answer.len() as u64;
        add(rests, "conclusion rests on an answer", "conclusions rest on an answer");
        let errors = answers.errors.len() as u64;
        add(errors, "answer stops the script with an error", "answers stop the script with an error");
    }
    wrong
}

/// The first run that went wrong, reading by reading.
fn first_wrong(proof: &Proof, width: usize) -> String {
    if proof.is_clean() {
        return String::new();
    }
    let body = proof.singles().chain(&proof.pairs).map(|case| ("", case));
    let mut all = body.chain(proof.after_repair.iter().map(|case| ("After the repair, ", case)));
    let of_case = all.find_map(|(when, case)| {
        let harmless = |judgement| matches!(judgement, Judgement::SentElsewhere | Judgement::NoConclusion);
        let wrong = case.wrong_run.as_ref().filter(|wrong| !proof.by_parts || !harmless(wrong.judgement))?;
        let severity = wrong.severity.as_ref().map(|severity| format!(", {severity}")).unwrap_or_default();
        let words = format!(
            "{when}{} went astray (seed {}{severity}), and came to: {}",
            faults(&case.faults),
            wrong.seed,
            wrong.came_to
        );
        Some((words, wrong.path.as_slice()))
    });
    let slips = proof.slips.iter().flat_map(|slips| slips.replaces_good.iter().chain(&slips.errors));
    let of_slips = slips.map(|found| {
        let words = format!(
            "{}{} (seed {}) with a slip, {} at {}, came to: {}",
            if found.after_repair { "After the repair, " } else { "" },
            faults(&found.faults),
            found.seed,
            found.slip.words(),
            found.at,
            found.came_to
        );
        (words, found.path.as_slice())
    });
    let answers = proof.answers.iter().flat_map(|answers| answers.rests_on_an_answer.iter().chain(&answers.errors));
    let of_answers = answers.map(|found| {
        let words = format!(
            "{} (seed {}) rests on an answer, and came to: {}",
            faults(&found.faults),
            found.seed,
            found.came_to
        );
        (words, found.path.as_slice())
    });
    match of_case.into_iter().chain(of_slips).chain(of_answers).next() {
        Some((words, path)) => path_of(&words, path, width),
        None => String::new(),
    }
}

fn path_of(words: &str, path: &[Entry], width: usize) -> String {
    let mut out = format!("\n{}\n", wrapped(&harmless(words), width, "", "  "));
    for (_, line) in path.iter().filter_map(|entry| entry::line(entry, None)) {
        let _ = writeln!(out, "{}", wrapped(&line, width, "  ", "    "));
    }
    out
}

/// A count with a comma between its thousands.
pub fn thousands(count: u64) -> String {
    let digits = count.to_string();
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
