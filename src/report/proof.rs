//! A proof for the terminal, and its fault × prompt table.

use super::proof_tries;
use super::table::{harmless, table, table_or_lines, wrapped};
use crate::model::proof::case::{Case, Hidden, Judgement, WrongRun};
use crate::model::proof::whole::Proof;
use crate::model::unit::significant;
use crate::model::words;
use std::collections::BTreeSet;
use std::fmt::Write;

/// The short words of the tables, explained.
const WORDS: &str = "readings and min: readings and minutes of a run, on average. not shown: the fault was not noticed, and the \
    circuit says that it need not show. Detected and right with so many causes: by how common the faults are; a fault counts \
    where 95 % of its runs came out so.";
/// The columns of the narrow limits, explained.
const PARTS_BEST: &str = "ok reaches: how far the readings go of the cases in which most runs are inside this limit; bad reaches: how \
    near those come in which most are outside. Where one of them lies across the limit, runs are misjudged. would part best: the \
    limit half way between the two. varies: another one in other runs, since it follows from what was read before.";

/// What the columns mean for the check after the repair.
const AFTER_REPAIR: &str = "After the repair, missed: a fault that is still in was called repaired. none: it ended without \
    saying whether; with a fault still in that is no mistake.";

fn name(case: &Case) -> String {
    proof_tries::faults(&case.faults)
}

fn percent(share: Option<f64>) -> String {
    share.map_or_else(|| "–".to_owned(), |share| format!("{} %", significant(100.0 * share, 4)))
}

/// The tables of a proof, within `width` columns.
pub fn tables(proof: &Proof, width: usize) -> String {
    let mut out = String::new();
    let rows: Vec<Vec<String>> = {
        // Of the generated family, only what did not come out right.
        let generated = proof.generated.iter().filter(|case| case.count(Judgement::Right) < case.runs_that_count());
        proof.cases.iter().chain(&proof.pairs).chain(generated).map(row).collect()
    };
    let heading = ["fault", "right", "wrong", "missed", "not shown", "none", "named", "readings", "min"];
    let _ = writeln!(out, "{}", table_or_lines(width, &heading, &rows, &[1, 2, 3, 4, 5, 7, 8]));
    let _ = writeln!(out, "{}", figures(proof, width));
    let _ = writeln!(out, "{}", wrapped(WORDS, width, "", ""));
    out.push_str(&not_asked(proof, width));
    out.push_str(&elsewhere(proof, width));
    out.push_str(&after_repair(proof, width));
    let groups = proof.ambiguity_groups();
    if !groups.is_empty() {
        let _ = writeln!(out, "\nConclusions of more than one cause:");
        let rows: Vec<Vec<String>> =
            groups.iter().map(|(named, faults)| vec![harmless(named), harmless(&faults.join(", "))]).collect();
        let _ = writeln!(out, "{}", table(width, &["named together", "faults"], &rows, &[]));
    }
    let narrow: Vec<Vec<String>> = proof
        .limits
        .iter()
        .take(8)
        .map(|margin| {
            let unit: Result<crate::model::unit::Unit, _> = margin.unit.parse();
            let show = |value: Option<f64>| match (value, &unit) {
                (Some(value), Ok(unit)) => {
                    let one = unit.quantity(1.0).si();
                    unit.with_symbol(&significant(value / one, 4))
                }
                _ => "–".to_owned(),
            };
            let best = if margin.overlap { "overlap".to_owned() } else { show(margin.best) };
            vec![
                harmless(&margin.prompt),
                margin.side.to_owned(),
                format!("{}{}", show(Some(margin.limit)), if margin.varies { ", varies" } else { "" }),
                show(margin.inside),
                show(margin.outside),
                best,
            ]
        })
        .collect();
    if !narrow.is_empty() {
        let _ = writeln!(out, "\nThe limits that decide most narrowly:");
        let heading = ["prompt", "side", "limit", "ok reaches", "bad reaches", "would part best"];
        let _ = writeln!(out, "{}", table_or_lines(width, &heading, &narrow, &[2, 3, 4, 5]));
        let _ = writeln!(out, "{}", wrapped(PARTS_BEST, width, "", ""));
    }
    out.push_str(&astray_pairs(proof, width));
    out.push_str(&proof_tries::text(proof, width));
    out
}

/// Where runs that condemn nothing ended without the cause, what need not show, and causes that are named in vain.
fn elsewhere(proof: &Proof, width: usize) -> String {
    let mut out = String::new();
    let mut say = |words: &str| {
        let _ = writeln!(out, "{}", wrapped(&harmless(words), width, "", "  "));
    };
    for (judgement, what) in
        [(Judgement::SentElsewhere, "sent elsewhere"), (Judgement::NoConclusion, "ended without a cause")]
    {
        let cases: Vec<&Case> = proof.singles().filter(|case| case.count(judgement) > 0).collect();
        if proof.by_parts && !cases.is_empty() {
            let runs: u64 = cases.iter().map(|case| case.count(judgement)).sum();
            let all: u64 = proof.singles().map(|case| case.runs).sum();
            let list: Vec<String> = cases
                .iter()
                .map(|case| format!("{} ({} of {})", name(case), case.count(judgement), case.runs))
                .collect();
            say(&format!("{what}: {} of the runs: {}", percent(Some(runs as f64 / all as f64)), list.join(", ")));
        }
    }
    let is_told = |case: &&Case| {
        let listed =
            case.hidden != Hidden::default() && !proof.generated.iter().any(|other| other.faults == case.faults);
        listed || case.hidden.judged.contains_key(&Judgement::Wrong)
    };
    for case in proof.singles().filter(is_told) {
        let runs: u64 = case.hidden.judged.values().sum();
        let wrong = case.hidden.judged.get(&Judgement::Wrong).copied().unwrap_or(0);
        let never = match case.hidden.vehicles {
            0 => String::new(),
            vehicles => format!("; {vehicles} vehicles on which it never shows"),
        };
        say(&format!("{}: {runs} runs with draws that nobody notices, {wrong} of them wrong{never}", name(case)));
    }
    for (company, cause) in proof.padding() {
        say(&format!("padding: `{cause}` is named in \"{company}\", and was never there when it was"));
    }
    if out.is_empty() { out } else { format!("\n{out}") }
}

/// Cases that the circuit could not be asked for.
fn not_asked(proof: &Proof, width: usize) -> String {
    let mut out = String::new();
    let body = proof.singles().chain(&proof.pairs).map(|case| ("", case));
    for (when, case) in body.chain(proof.after_repair.iter().map(|case| ("after the repair, ", case))) {
        if let Some(not_asked) = &case.not_asked {
            let runs = not_asked.runs + case.runs;
            let words =
                format!("{when}{}: {} of {runs} runs can't be made: {}", name(case), not_asked.runs, not_asked.words());
            let _ = writeln!(out, "{}", wrapped(&harmless(&words), width, "", "  "));
        }
    }
    if out.is_empty() { out } else { format!("\nWhat the circuit can't be asked:\n{out}") }
}

/// The check after the repair: what it said with each fault still in.
fn after_repair(proof: &Proof, width: usize) -> String {
    if proof.after_repair.is_empty() {
        return String::new();
    }
    let rows: Vec<Vec<String>> = proof.after_repair.iter().map(row).collect();
    let heading = ["still in", "right", "wrong", "missed", "not shown", "none", "said", "readings", "min"];
    let table = table_or_lines(width, &heading, &rows, &[1, 2, 3, 4, 5, 7, 8]);
    let (well, faulty): (Vec<&Case>, Vec<&Case>) = proof.after_repair.iter().partition(|case| case.faults.is_empty());
    let of = |cases: &[&Case], count: &dyn Fn(&Case) -> u64| {
        let runs: u64 = cases.iter().map(|case| case.runs).sum();
        format!("{} of {runs}", cases.iter().map(|case| count(case)).sum::<u64>())
    };
    let figures = vec![
        vec!["called repaired, and the fault is in".to_owned(), of(&faulty, &|case| case.count(Judgement::Missed))],
        vec![
            "called repaired, and the fault that is in need not show".to_owned(),
            of(&faulty, &|case| case.count(Judgement::NotShown)),
        ],
        vec![
            "left undecided, and the fault is in".to_owned(),
            of(&faulty, &|case| case.count(Judgement::NoConclusion)),
        ],
        vec!["well, and not called so".to_owned(), of(&well, &|case| case.runs - case.count(Judgement::Right))],
    ];
    format!(
        "\nThe check after the repair, with each fault still in:\n{table}\n{}\n{}\n",
        self::table(width, &[], &figures, &[]),
        wrapped(AFTER_REPAIR, width, "", "")
    )
}

/// The pairs that went astray, and why as far as the readings tell.
fn astray_pairs(proof: &Proof, width: usize) -> String {
    let rows: Vec<Vec<String>> = proof
        .pairs
        .iter()
        .filter_map(|case| {
            let wrong_run = case.wrong_run.as_ref()?;
            let runs = format!("{} of {}", case.runs - case.count(Judgement::Right).min(case.other_found), case.runs);
            Some(vec![harmless(&name(case)), runs, harmless(&wrong_run.came_to), harmless(&why(wrong_run))])
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    format!("\nPairs that go astray:\n{}\n", table_or_lines(width, &["pair", "runs", "came to", "why"], &rows, &[]))
}

/// Why a pair went astray, as far as the readings tell.
fn why(wrong_run: &WrongRun) -> String {
    let mut why = match (wrong_run.judgement, wrong_run.reads_like.as_slice()) {
        (Judgement::Right, _) => "once this was mended, the other was not named".to_owned(),
        _ if wrong_run.reads_healthy => {
            "the two hide each other: every reading is judged as on the healthy circuit".to_owned()
        }
        (_, []) => "no single fault reads so: its path is below".to_owned(),
        (_, like) => format!("every reading is judged as with {} alone", words::either(like)),
    };
    if wrong_run.one_part {
        why.push_str("; both change the same part");
    }
    why
}

fn row(case: &Case) -> Vec<String> {
    let named: Vec<String> = case
        .named
        .iter()
        .map(|(cause, count)| if case.named.len() == 1 { cause.clone() } else { format!("{cause} ({count})") })
        .collect();
    let runs = case.runs.max(1) as f64;
    let mut right = case.count(Judgement::Right).to_string();
    if case.faults.len() == 2 {
        right.push_str(&format!(", then the other {}", case.other_found));
    }
    vec![
        harmless(&name(case)),
        right,
        case.count(Judgement::Wrong).to_string(),
        case.count(Judgement::Missed).to_string(),
        case.count(Judgement::NotShown).to_string(),
        case.count(Judgement::NoConclusion).to_string(),
        harmless(&named.join("; ")),
        significant(case.readings as f64 / runs, 3),
        significant(case.minutes / runs, 3),
    ]
}

fn figures(proof: &Proof, width: usize) -> String {
    let faults: Vec<&Case> = proof.singles().filter(|case| !case.faults.is_empty()).collect();
    let mean = |of: &dyn Fn(&Case) -> f64| {
        let runs: u64 = faults.iter().map(|case| case.runs).sum();
        faults.iter().map(|case| of(case)).sum::<f64>() / runs.max(1) as f64
    };
    let condemned = proof.condemned();
    let runs = proof.runs();
    let mut condemned_words = format!("{condemned} of {runs}");
    if condemned == 0 {
        condemned_words.push_str(" on this simulated circuit");
        if let Some(percent) = proof.at_most_percent() {
            // Of all runs together it would be less, and would say nothing of the fault that is seldom put in.
            let percent = significant(percent, 2);
            condemned_words.push_str(&format!(" (at most {percent} % a fault with 95 % confidence, 3/N of its runs)"));
        }
    } else {
        let which: Vec<_> =
            proof.singles().chain(&proof.pairs).filter(|case| case.count(Judgement::Wrong) > 0).map(name).collect();
        condemned_words.push_str(&format!(": {}", which.join(", ")));
    }
    let healthy = proof.cases.iter().find(|case| case.faults.is_empty());
    let false_alarms = healthy
        .map_or_else(String::new, |case| format!("{} of {}", case.runs - case.count(Judgement::Right), case.runs));
    let among =
        proof.right_among().map_or_else(String::new, |shares| shares.map(|share| percent(Some(share))).join(", "));
    let rows = vec![
        vec!["good part condemned".to_owned(), harmless(&condemned_words)],
        vec!["false alarms on the healthy circuit".to_owned(), false_alarms],
        vec!["detected".to_owned(), percent(proof.fraction_detected())],
        vec!["of these right with one cause".to_owned(), percent(proof.fraction_isolated(1))],
        vec!["of these right with two causes or fewer".to_owned(), percent(proof.fraction_isolated(2))],
        vec!["of these right with three causes or fewer".to_owned(), percent(proof.fraction_isolated(3))],
        vec!["right among one, two, three and more causes".to_owned(), among],
        vec!["readings to isolate, on average".to_owned(), significant(mean(&|case| case.readings as f64), 3)],
        vec!["minutes to isolate, on average".to_owned(), significant(mean(&|case| case.minutes), 3)],
    ];
    table(width, &[], &rows, &[])
}

/// The fault × prompt table: the share of runs in which the prompt's verdict was other than in; `not run` where it was not
/// reached. Rows are faults, the healthy circuit first; the prompts of the check after the repair come last, as
/// `after_repair.` and their name.
pub fn fault_by_prompt(proof: &Proof) -> (Vec<String>, Vec<Vec<String>>) {
    let prompts_of =
        |cases: &[Case]| -> BTreeSet<String> { cases.iter().flat_map(|case| case.prompts.keys().cloned()).collect() };
    let (prompts, after) = (prompts_of(&proof.cases), prompts_of(&proof.after_repair));
    let mut heading = vec!["fault".to_owned(), "cause".to_owned(), "how_common".to_owned()];
    heading.extend(prompts.iter().cloned());
    heading.extend(after.iter().map(|prompt| format!("after_repair.{prompt}")));
    let share = |case: Option<&Case>, prompt: &String| match case.and_then(|case| case.prompts.get(prompt)) {
        None => "not run".to_owned(),
        Some(asked) => significant(asked.out as f64 / asked.asked.max(1) as f64, 3),
    };
    let rows = proof
        .cases
        .iter()
        .enumerate()
        .map(|(index, case)| {
            let mut row = vec![name(case), case.causes.join(" or "), significant(case.how_common, 4)];
            row.extend(prompts.iter().map(|prompt| share(Some(case), prompt)));
            row.extend(after.iter().map(|prompt| share(proof.after_repair.get(index), prompt)));
            row
        })
        .collect();
    (heading, rows)
}
