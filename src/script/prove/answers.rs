//! Answers that nobody can check: every way to give them, depth first, on the first vehicle of each case.

use super::course::{Course, Vehicle};
use super::judge::Truth;
use super::proving::Counting;
use super::slips::{FirstRun, FirstRuns, asks_somebody};
use super::watch::Stage;
use crate::model::proof::slip::{Answers, RestsOnAnswer};
use crate::run::answered_ways::{AnsweredWays, Ways};
use crate::script::execute::{EntryPoint, Outcome};
use rayon::prelude::*;
use std::sync::Mutex;

/// So many paths of a case are gone.
pub const MOST_PATHS: u64 = 1_000;

impl Course<'_> {
    /// Answers such questions in every way.
    pub(super) fn answers(&self, cases: &[FirstRuns<'_>]) -> Answers {
        let asking: Vec<&FirstRuns<'_>> =
            cases.iter().filter(|case| self.first(case).is_some_and(|first| asks_somebody(&first.run))).collect();
        self.watch.begins(Stage::Answers, asking.len() as u64);
        let of_case = |case: &&FirstRuns<'_>| {
            let answers = self.first(case).map(|first| self.answers_of(case, first)).unwrap_or_default();
            self.watch.ran();
            answers
        };
        let each: Vec<Answers> = asking.par_iter().map(of_case).collect();
        each.into_iter().fold(Answers::default(), |mut all, one| {
            all.runs += one.runs;
            all.cut.extend(one.cut);
            all.rests_on_an_answer.extend(one.rests_on_an_answer);
            all.errors.extend(one.errors);
            all
        })
    }

    /// The run on the first vehicle, if the fault shows there.
    fn first<'b>(&self, case: &'b FirstRuns<'_>) -> Option<&'b FirstRun> {
        let is_first = |first: &&FirstRun| first.seed == self.proving.seed;
        case.runs.first().filter(is_first)
    }

    fn answers_of(&self, case: &FirstRuns<'_>, first: &FirstRun) -> Answers {
        let mut answers = Answers::default();
        let counts = self.proving.counting != Counting::Nothing;
        let vehicle = Vehicle { entry_point: case.entry_point, faults: &case.put(first.severity), seed: first.seed };
        let truth = case.truth(&self.proving.circuit);
        let faults: Vec<String> = case.faults.iter().map(|fault| fault.id.0.clone()).collect();
        let mut next = Some(vec![]);
        while let Some(path) = next {
            if answers.runs == MOST_PATHS {
                answers.cut.push(faults);
                break;
            }
            answers.runs += 1;
            let said: Mutex<Ways> = Mutex::default();
            let run = self.run_with(&vehicle, counts, |bench| {
                let answerer = AnsweredWays::new(bench, path.clone());
                if let Ok(mut said) = said.lock() {
                    *said = answerer.ways();
                }
                Box::new(answerer)
            });
            let ways = said.into_inner().unwrap_or_default();
            next = ways.next();
            let (list, came_to, path) = match run {
                Err(problem) => (&mut answers.errors, problem.title, vec![]),
                Ok(run) => match &run.outcome {
                    Outcome::Failed(problem) => (&mut answers.errors, problem.title.clone(), run.entries),
                    outcome => match condemned(&truth, case.entry_point, outcome) {
                        Some(named) => (&mut answers.rests_on_an_answer, named.join(" or "), run.entries),
                        None => continue,
                    },
                },
            };
            match list.iter_mut().find(|known| known.came_to == came_to) {
                Some(known) => known.runs += 1,
                None => list.push(RestsOnAnswer {
                    faults: faults.clone(),
                    seed: vehicle.seed,
                    said: ways.said().into_iter().map(|way| way.said).collect(),
                    came_to,
                    runs: 1,
                    path,
                }),
            }
        }
        answers
    }
}

/// The causes that replace a good part on a word alone. After the repair, "well" replaces nothing.
fn condemned(truth: &Truth<'_>, entry_point: EntryPoint, outcome: &Outcome) -> Option<Vec<String>> {
    match entry_point {
        EntryPoint::Body => truth.condemns_on_a_word(outcome),
        EntryPoint::AfterRepair => truth.condemns_on_a_word_after_repair(outcome),
    }
}
