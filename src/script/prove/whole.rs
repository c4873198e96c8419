//! Every case of a proof.

use super::margins::margins;
use super::proving::Proving;
use super::tally::Limit;
use crate::model::diagnostic::Diagnostic;
use crate::model::proof::case::Case;
use crate::model::proof::whole::Proof;
use crate::script::execute::EntryPoint;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

impl Proving {
    /// How many cases there are: the healthy circuit and every fault, both once more for the check after the repair where
    /// the procedure has one, and every pair if asked for.
    pub fn cases(&self) -> usize {
        let faults = self.circuit.faults().len();
        let pairs = if self.pairs { faults * faults.saturating_sub(1) / 2 } else { 0 };
        self.entry_points().len() * (1 + faults) + pairs
    }

    /// Where the procedure can be begun.
    fn entry_points(&self) -> &'static [EntryPoint] {
        if self.procedure.has_after_repair() {
            &[EntryPoint::Body, EntryPoint::AfterRepair]
        } else {
            &[EntryPoint::Body]
        }
    }

    /// Runs every case on all cores; memory does not grow with the samples. `done` is told of each case.
    ///
    /// # Errors
    /// What the circuit could not be asked, or an error in the script.
    pub fn prove(&self, done: &(dyn Fn() + Sync)) -> Result<Proof, Box<Diagnostic>> {
        let points = Arc::new(self.circuit.names());
        let mut singles: Vec<(EntryPoint, Vec<usize>)> = Vec::new();
        for entry_point in self.entry_points() {
            singles.push((*entry_point, vec![]));
            singles.extend((0..self.circuit.faults().len()).map(|fault| (*entry_point, vec![fault])));
        }
        let run = |(entry_point, faults): &(EntryPoint, Vec<usize>)| {
            let case = self.case(*entry_point, faults, &points);
            done();
            case
        };
        // Which of several errors is found first, the cores decide: told is that of the first case in order.
        let results: Vec<Result<_, Box<Diagnostic>>> = singles.par_iter().map(run).collect();
        let mut results = results.into_iter().collect::<Result<Vec<_>, _>>()?;
        let after_repair = results.split_off(1 + self.circuit.faults().len());
        let after_repair = after_repair.into_iter().map(|(case, _)| case).collect();
        let mut limits = BTreeMap::new();
        for (_, seen) in &results {
            for (id, limit) in seen {
                limits
                    .entry(id.clone())
                    .and_modify(|known: &mut Limit| known.met(limit))
                    .or_insert_with(|| limit.clone());
            }
        }
        let cases: Vec<Case> = results.into_iter().map(|(case, _)| case).collect();
        let mut pairs = Vec::new();
        if self.pairs {
            let count = self.circuit.faults().len();
            let all: Vec<(EntryPoint, Vec<usize>)> = (0..count)
                .flat_map(|one| (one + 1..count).map(move |other| (EntryPoint::Body, vec![one, other])))
                .collect();
            let results: Vec<Result<_, Box<Diagnostic>>> = all.par_iter().map(run).collect();
            let results = results.into_iter().collect::<Result<Vec<_>, _>>()?;
            pairs = results.into_iter().map(|(case, _)| case).collect();
        }
        let limits = margins(&cases, &limits);
        Ok(Proof {
            procedure: self.procedure.name.clone(),
            circuit: self.circuit_name.clone(),
            samples: self.samples,
            seed: self.seed,
            cases,
            after_repair,
            pairs,
            limits,
        })
    }
}
