//! Slips: one a run, each place once, on the first vehicles of each case.

use super::came::{Judged, judged};
use super::course::{Course, OneRun, Vehicle};
use super::judge::judge;
use super::proving::Counting;
use super::watch::Stage;
use crate::circuit::fault::FaultId;
use crate::model::event::{Entry, Event};
use crate::model::meter::Function;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::proof::case::Judgement;
use crate::model::proof::slip::{SlipFound, SlipKind, Slips};
use crate::run::slipping::{Slip, SlipPlace, Slipping};
use crate::script::execute::{EntryPoint, Outcome};
use rayon::prelude::*;

/// On so many vehicles of each case.
const VEHICLES: u64 = 3;

/// A case on its first vehicles: what is in, and the runs without any slip.
pub(super) struct FirstRuns {
    pub faults: Vec<FaultId>,
    pub causes: Vec<String>,
    /// Each with its seed; those that the circuit could not be asked for are left out.
    pub runs: Vec<(u64, OneRun)>,
}

impl FirstRuns {
    /// Whether a good part would be replaced.
    pub(super) fn replaces_good(&self, outcome: &Outcome) -> bool {
        judge(outcome, &self.causes).0 == Judgement::Wrong
    }
}

/// A run that is to be made.
struct Job<'a> {
    case: &'a FirstRuns,
    seed: u64,
    slip: Slip,
    at: String,
}

impl Course<'_> {
    /// The healthy circuit and each fault, on the first vehicles, with no slip.
    pub(super) fn first_runs(&self) -> Vec<FirstRuns> {
        let faults = self.proving.circuit.faults();
        let cases: Vec<Option<usize>> = std::iter::once(None).chain((0..faults.len()).map(Some)).collect();
        let of_case = |fault: &Option<usize>| {
            let fault = fault.map(|fault| &faults[fault]);
            let ids: Vec<FaultId> = fault.iter().map(|fault| fault.id.clone()).collect();
            let causes = fault.map(|fault| fault.causes.clone()).unwrap_or_default();
            let seeds = (0..self.proving.samples.min(VEHICLES)).map(|sample| self.proving.seed.wrapping_add(sample));
            let runs = seeds.filter_map(|seed| {
                let vehicle = Vehicle { entry_point: EntryPoint::Body, faults: &ids, seed };
                Some((seed, self.run(&vehicle, false).ok()?))
            });
            let runs = runs.collect();
            FirstRuns { faults: ids, causes, runs }
        };
        cases.par_iter().map(of_case).collect()
    }

    /// Makes every slip once.
    pub(super) fn slips(&self, cases: &[FirstRuns]) -> Slips {
        let jobs: Vec<Job<'_>> = cases.iter().flat_map(jobs).collect();
        self.watch.begins(Stage::Slips, jobs.len() as u64);
        let counts = self.proving.counting != Counting::Nothing;
        let run = |job: &Job<'_>| {
            let vehicle = Vehicle { entry_point: EntryPoint::Body, faults: &job.case.faults, seed: job.seed };
            let run = self.run_with(&vehicle, counts, |bench| Box::new(Slipping::new(bench, job.slip.clone())));
            self.watch.ran();
            found(job, run.map_err(|problem| problem.title))
        };
        let results: Vec<Option<(bool, SlipFound)>> = jobs.par_iter().map(run).collect();
        let mut slips = Slips { runs: jobs.len() as u64, ..Slips::default() };
        for job in &jobs {
            *slips.by_kind.entry(job.slip.kind).or_default() += 1;
        }
        for (is_error, found) in results.into_iter().flatten() {
            let list = match (found.slip.counts(), is_error) {
                (false, _) => &mut slips.not_done,
                (true, true) => &mut slips.errors,
                (true, false) => &mut slips.replaces_good,
            };
            let same = |known: &&mut SlipFound| known.slip == found.slip && known.at == found.at;
            match list.iter_mut().find(same) {
                Some(known) => known.runs += 1,
                None => list.push(found),
            }
        }
        slips
    }
}

/// What a run with a slip came to, where that is worth telling, and whether it is an error.
fn found(job: &Job<'_>, run: Result<OneRun, String>) -> Option<(bool, SlipFound)> {
    let (is_error, came_to, path) = match run {
        Err(problem) => (true, problem, vec![]),
        Ok(OneRun { outcome: Outcome::Failed(problem), entries }) => {
            let place = problem.place.as_ref().zip(problem.line());
            let place = place.map(|(place, line)| format!("{}:{line}: ", place.file)).unwrap_or_default();
            (true, format!("{place}{}", problem.title), entries)
        }
        Ok(run) if job.case.replaces_good(&run.outcome) => {
            let named = judge(&run.outcome, &job.case.causes).1;
            (false, named.join(" or "), run.entries)
        }
        Ok(_) => return None,
    };
    let found = SlipFound {
        slip: job.slip.kind,
        at: job.at.clone(),
        runs: 1,
        faults: job.case.faults.iter().map(|fault| fault.0.clone()).collect(),
        seed: job.seed,
        came_to,
        path,
    };
    Some((is_error, found))
}

/// Every slip that can be made in the runs of a case; a path that another vehicle of the case went is not gone again.
fn jobs(case: &FirstRuns) -> Vec<Job<'_>> {
    let mut seen: Vec<Vec<Judged>> = Vec::new();
    let mut jobs = Vec::new();
    for (seed, run) in &case.runs {
        let path = judged(&run.entries);
        if !seen.contains(&path) {
            seen.push(path);
            jobs.extend(places(&run.entries).into_iter().map(|(slip, at)| Job { case, seed: *seed, slip, at }));
        }
    }
    jobs
}

/// Every slip that can be made in a run, and where in words.
fn places(entries: &[Entry]) -> Vec<(Slip, String)> {
    let mut places = Vec::new();
    let mut actions = 0;
    for entry in entries {
        match &entry.event {
            Event::Acted { action, already: false, .. } => {
                let at = SlipPlace::Action(actions);
                places.extend(SlipKind::AT_ACTIONS.map(|kind| (Slip { kind, at: at.clone() }, action.to_string())));
                actions += 1;
            }
            Event::Answered { prompt, answer, .. } => {
                let kinds = SlipKind::at(&prompt.question).iter();
                let kinds = kinds.filter(|kind| changes(**kind, prompt, answer));
                let at = SlipPlace::Prompt(prompt.id.clone());
                places.extend(kinds.map(|kind| (Slip { kind: *kind, at: at.clone() }, prompt.id.to_string())));
            }
            _ => {}
        }
    }
    places
}

/// Whether a slip makes another answer of this one.
fn changes(kind: SlipKind, prompt: &Prompt, answer: &Answer) -> bool {
    let shows_over_range = matches!(answer, Answer::Reading { typed } if typed.as_ref() == "OL");
    match kind {
        _ if matches!(answer, Answer::Skipped { .. }) => false,
        SlipKind::OverRange => !shows_over_range,
        SlipKind::NoContact if !matches!(prompt.question.function(), Some(Function::Volts | Function::Amperes)) => {
            !shows_over_range
        }
        _ => true,
    }
}

/// Whether a run asked something that only somebody there can answer.
pub(super) fn asks_somebody(run: &OneRun) -> bool {
    run.entries.iter().any(|entry| match &entry.event {
        Event::Answered { prompt, .. } => {
            matches!(prompt.question, Question::YesNo | Question::Choice { .. } | Question::Note)
        }
        _ => false,
    })
}
