//! One reading skipped, whichever: no good part is named alone for it, and nothing is called repaired that is not.

use super::{procedure, proving, run_with, with_circuits};
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::sample::Sample;
use ohmwright::model::event::Event;
use ohmwright::model::origin::Origin;
use ohmwright::model::prompt::CauseId;
use ohmwright::run::answerer::Answerer;
use ohmwright::run::bench::BenchAnswerer;
use ohmwright::run::notice::Notice;
use ohmwright::run::reply::{Form, Reply};
use ohmwright::run::request::Request;
use ohmwright::run::view::View;
use ohmwright::script::execute::{EntryPoint, Outcome};
use ohmwright::script::prove::proving::Proving;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Causes that condemn nothing: they say what was not measured, and send the technician there.
const DOUBTS: [&str; 5] =
    ["terminals_doubtful", "clamps_not_known", "strength_not_known", "posts_not_known", "full_load_not_known"];

/// A circuit that answers all but one prompt.
struct AllButOne {
    bench: BenchAnswerer,
    skips: Option<String>,
}

impl Answerer for AllButOne {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        match request {
            Request::Answer { prompt } | Request::NextOfSweep { prompt, .. }
                if self.skips.as_deref() == Some(prompt.id.as_str()) =>
            {
                Form::Skip { reason: "out of reach".to_owned() }.from(Origin::TYPED)
            }
            _ => self.bench.ask(request, view),
        }
    }
    fn notice(&mut self, notice: Notice<'_>) {
        self.bench.notice(notice);
    }
}

/// The causes that a run comes to, none where it comes to none, and the prompts that it answers.
fn run(
    proving: &Proving,
    entry_point: EntryPoint,
    faults: &[FaultId],
    skips: Option<&str>,
) -> (Vec<String>, BTreeSet<String>) {
    let bench = Bench::new(Arc::clone(&proving.circuit), faults, Sample::of_seed(1), bench_meter()).unwrap();
    let answerer = AllButOne { bench: BenchAnswerer::alone(bench), skips: skips.map(str::to_owned) };
    let finished = run_with(proving, entry_point, Box::new(answerer));
    let causes = match finished.outcome {
        Outcome::Concluded(causes) => causes.iter().map(|cause| cause.id.to_string()).collect(),
        Outcome::Failed(diagnostic) => panic!("{faults:?} without {skips:?}: {diagnostic:?}"),
        _ => vec![],
    };
    let answered = finished.entries.iter().filter_map(|entry| match &entry.event {
        Event::Answered { prompt, .. } => Some(prompt.id.to_string()),
        _ => None,
    });
    (causes, answered.collect())
}

#[test]
fn a_reading_that_is_skipped_condemns_nothing_good_and_clears_nothing_bad() {
    let mut runs = 0;
    let mut bad = Vec::new();
    for (name, circuit) in with_circuits() {
        let proving = proving(procedure(&name), &circuit, 1);
        let faults = std::iter::once((vec![], vec![]))
            .chain(proving.circuit.faults().iter().map(|fault| (vec![fault.id.clone()], fault.causes.clone())));
        for (faults, causes) in faults {
            let there = |named: &String| match causes.as_slice() {
                [] => named == CauseId::NOT_PRESENT,
                causes => causes.contains(named),
            };
            for skips in run(&proving, EntryPoint::Body, &faults, None).1 {
                let (named, _) = run(&proving, EntryPoint::Body, &faults, Some(&skips));
                runs += 1;
                let in_doubt = |cause: &String| DOUBTS.contains(&cause.as_str());
                if !named.is_empty() && !named.iter().any(|cause| there(cause) || in_doubt(cause)) {
                    bad.push(format!("{name}: {faults:?} without `{skips}`: {}", named.join(" or ")));
                }
            }
            if !proving.procedure.has_after_repair() || faults.is_empty() {
                continue;
            }
            for skips in run(&proving, EntryPoint::AfterRepair, &faults, None).1 {
                let (named, _) = run(&proving, EntryPoint::AfterRepair, &faults, Some(&skips));
                runs += 1;
                if named.iter().any(|cause| cause == CauseId::REPAIRED) {
                    bad.push(format!("{name} after the repair: {faults:?} without `{skips}`: repaired"));
                }
            }
        }
    }
    assert!(runs > 1000, "{runs} runs");
    assert!(bad.is_empty(), "{} of {runs} runs:\n{}", bad.len(), bad.join("\n"));
}
