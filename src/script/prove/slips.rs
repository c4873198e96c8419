//! Slips: one a run, each place once, on the first vehicles of each case.

use super::came::{Judged, judged};
use super::case::Which;
use super::course::{Course, OneRun, Put, Vehicle};
use super::judge::Truth;
use super::proving::Counting;
use super::watch::Stage;
use crate::circuit::fault::Fault;
use crate::circuit::netlist::Circuit;
use crate::circuit::population::Drawn;
use crate::circuit::showing::Plain;
use crate::model::event::{Entry, Event};
use crate::model::meter::Function;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::proof::slip::{SlipFound, SlipKind, Slips};
use crate::run::slipping::{Slip, SlipPlace, Slipping};
use crate::script::execute::{EntryPoint, Outcome};
use rayon::prelude::*;

/// On so many vehicles of each case.
const VEHICLES: u64 = 3;

/// A case on its first vehicles: what is in, and the runs without any slip.
pub(super) struct FirstRuns<'a> {
    pub entry_point: EntryPoint,
    pub faults: Vec<&'a Fault>,
    /// Those that the circuit could not be asked for are left out, and those on which nobody notices the fault.
    pub runs: Vec<FirstRun>,
}

/// One of them.
pub(super) struct FirstRun {
    pub seed: u64,
    pub severity: Option<f64>,
    pub run: OneRun,
}

impl FirstRuns<'_> {
    /// What is in, on a vehicle with such a severity.
    pub(super) fn put(&self, severity: Option<f64>) -> Vec<Put<'_>> {
        self.faults.iter().map(|fault| Put { fault, severity }).collect()
    }

    /// What runs of this case are held against.
    pub(super) fn truth<'b>(&'b self, circuit: &'b Circuit) -> Truth<'b> {
        Truth::new(circuit, &self.faults, Plain::Showing)
    }
}

/// A run that is to be made.
struct Job<'a> {
    case: &'a FirstRuns<'a>,
    seed: u64,
    severity: Option<f64>,
    slip: Slip,
    at: String,
}

impl Course<'_> {
    /// The healthy circuit and each fault, wherever the procedure can be begun, on the first vehicles, with no slip.
    pub(super) fn first_runs(&self) -> Vec<FirstRuns<'_>> {
        self.proving.singles().into_par_iter().map(|which| self.first_runs_of(which)).collect()
    }

    fn first_runs_of<'b>(&self, which: Which<'b>) -> FirstRuns<'b> {
        let Which { entry_point, faults } = which;
        let mut case = FirstRuns { entry_point, faults, runs: vec![] };
        for number in 0..self.proving.samples.min(VEHICLES) {
            let seed = self.proving.seed.wrapping_add(number);
            let drawn = self.drawn(&case.faults, number).ok();
            let Some(Drawn { severity, plain }) = drawn.and_then(|drawn| drawn.last().copied()) else { continue };
            if plain == Plain::Hidden {
                continue;
            }
            if let Ok(run) = self.run(&Vehicle { entry_point, faults: &case.put(severity), seed }, false) {
                case.runs.push(FirstRun { seed, severity, run });
            }
        }
        case
    }

    /// Makes every slip once.
    pub(super) fn slips(&self, cases: &[FirstRuns<'_>]) -> Slips {
        let jobs: Vec<Job<'_>> = cases.iter().flat_map(jobs).collect();
        self.watch.begins(Stage::Slips, jobs.len() as u64);
        let counts = self.proving.counting != Counting::Nothing;
        let run = |job: &Job<'_>| {
            let put = job.case.put(job.severity);
            let vehicle = Vehicle { entry_point: job.case.entry_point, faults: &put, seed: job.seed };
            let run = self.run_with(&vehicle, counts, |bench| Box::new(Slipping::new(bench, job.slip.clone())));
            self.watch.ran();
            found(&self.proving.circuit, job, run.map_err(|problem| problem.title))
        };
        let results: Vec<Option<(CameOf, SlipFound)>> = jobs.par_iter().map(run).collect();
        let mut slips = Slips { runs: jobs.len() as u64, ..Slips::default() };
        for job in &jobs {
            *slips.by_kind.entry(job.slip.kind).or_default() += 1;
        }
        for (came_of, found) in results.into_iter().flatten() {
            let list = match came_of {
                _ if !found.slip.counts() => &mut slips.not_done,
                CameOf::Error => &mut slips.errors,
                CameOf::ReplacesGood => &mut slips.replaces_good,
                CameOf::CalledRepaired => &mut slips.called_repaired,
            };
            let same = |known: &&mut SlipFound| {
                (known.slip, known.after_repair) == (found.slip, found.after_repair) && known.at == found.at
            };
            match list.iter_mut().find(same) {
                Some(known) => known.runs += 1,
                None => list.push(found),
            }
        }
        slips
    }
}

/// What came of a slip, where that is worth telling.
#[derive(Clone, Copy)]
enum CameOf {
    Error,
    ReplacesGood,
    CalledRepaired,
}

/// What a run with a slip came to, where that is worth telling.
fn found(circuit: &Circuit, job: &Job<'_>, run: Result<OneRun, String>) -> Option<(CameOf, SlipFound)> {
    let truth = job.case.truth(circuit);
    let after_repair = job.case.entry_point == EntryPoint::AfterRepair;
    let (came_of, came_to, path) = match run {
        Err(problem) => (CameOf::Error, problem, vec![]),
        Ok(OneRun { outcome: Outcome::Failed(problem), entries }) => {
            let place = problem.place.as_ref().zip(problem.line());
            let place = place.map(|(place, line)| format!("{}:{line}: ", place.file)).unwrap_or_default();
            (CameOf::Error, format!("{place}{}", problem.title), entries)
        }
        Ok(OneRun { outcome, entries }) => {
            let good = match job.slip.kind {
                _ if after_repair => truth
                    .replaces_good_after_repair(&outcome)
                    .filter(|named| job.slip.kind != SlipKind::SeenWrong || !truth.may_rest_on_a_word(named)),
                SlipKind::SeenWrong => truth.condemns_on_a_word(&outcome),
                _ => truth.condemns_good(&outcome),
            };
            let repaired = || truth.missed_after_repair(&outcome).filter(|_| after_repair);
            let good = good.map(|named| (CameOf::ReplacesGood, named));
            let (came_of, named) = good.or_else(|| Some((CameOf::CalledRepaired, repaired()?)))?;
            (came_of, named.join(" or "), entries)
        }
    };
    let found = SlipFound {
        slip: job.slip.kind,
        at: job.at.clone(),
        after_repair,
        runs: 1,
        faults: job.case.faults.iter().map(|fault| fault.id.0.clone()).collect(),
        seed: job.seed,
        came_to,
        path,
    };
    Some((came_of, found))
}

/// Every slip that can be made in the runs of a case; a path that another vehicle of the case went is not gone again.
fn jobs<'a>(case: &'a FirstRuns<'a>) -> Vec<Job<'a>> {
    let mut seen: Vec<Vec<Judged>> = Vec::new();
    let mut jobs = Vec::new();
    for FirstRun { seed, severity, run } in &case.runs {
        let path = judged(&run.entries);
        if !seen.contains(&path) {
            seen.push(path);
            jobs.extend(places(&run.entries).into_iter().map(|(slip, at)| Job {
                case,
                seed: *seed,
                severity: *severity,
                slip,
                at,
            }));
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
                for kind in kinds.copied() {
                    if kind == SlipKind::SeenWrong {
                        let others = prompt.question.answers().into_iter().filter(|other| !says(answer, other));
                        places.extend(others.map(|other| {
                            let at = format!("{}: {other}", prompt.id);
                            (Slip { kind, at: SlipPlace::Look(prompt.id.clone(), other) }, at)
                        }));
                    } else {
                        let at = SlipPlace::Prompt(prompt.id.clone());
                        places.push((Slip { kind, at }, prompt.id.to_string()));
                    }
                }
            }
            _ => {}
        }
    }
    places
}

/// Whether an answer is this one of those from which one was chosen.
fn says(answer: &Answer, one: &str) -> bool {
    match answer {
        Answer::YesNo { yes } => one == if *yes { "yes" } else { "no" },
        Answer::Choice { option } => option == one,
        _ => false,
    }
}

/// Whether a slip makes another answer of this one.
fn changes(kind: SlipKind, prompt: &Prompt, answer: &Answer) -> bool {
    let shows_over_range = matches!(answer, Answer::Reading { typed } if typed.as_ref() == "OL");
    match kind {
        _ if matches!(answer, Answer::Skipped { .. }) => false,
        SlipKind::OverRange => !shows_over_range,
        SlipKind::NoContact
            if !matches!(prompt.question.function(), Some(Function::Volts | Function::AcVolts | Function::Amperes)) =>
        {
            !shows_over_range
        }
        _ => true,
    }
}

/// Whether a run asked something that only somebody there can answer: the circuit has no look of it.
pub(super) fn asks_somebody(run: &OneRun) -> bool {
    run.entries.iter().any(|entry| match &entry.event {
        Event::Answered { prompt, answer: Answer::Skipped { .. }, .. } => {
            matches!(
                prompt.question,
                Question::YesNo | Question::Choice { .. } | Question::Note | Question::Number { .. }
            )
        }
        _ => false,
    })
}
