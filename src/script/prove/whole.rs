//! Every case of a proof, and what else it tries.

use super::case::{CaseAndLimits, Which};
use super::counted::Counted;
use super::course::{Course, Vehicle};
use super::judge::by_parts;
use super::margins::margins;
use super::proving::{Counting, Proving};
use super::tally::Limit;
use super::watch::{Stage, Watch};
use crate::circuit::fault::Fault;
use crate::circuit::generated::generated;
use crate::model::diagnostic::Diagnostic;
use crate::model::proof::case::Case;
use crate::model::proof::whole::Proof;
use crate::script::execute::EntryPoint;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

impl Proving {
    /// The healthy circuit and every fault, both once more for the check after the repair where the procedure has one.
    pub(super) fn singles(&self) -> Vec<Which<'_>> {
        let mut singles = Vec::new();
        for entry_point in self.entry_points() {
            let entry_point = *entry_point;
            singles.push(Which { entry_point, faults: vec![] });
            singles.extend(self.circuit.faults().iter().map(|fault| Which { entry_point, faults: vec![fault] }));
        }
        singles
    }

    /// The generated family, if asked for and known.
    fn family(&self) -> Vec<Fault> {
        if !self.generated || !by_parts(&self.circuit) {
            return vec![];
        }
        generated(&self.circuit, &self.meter).into_iter().map(|one| one.fault).collect()
    }

    /// Every two faults, if asked for.
    fn twos(&self) -> Vec<Which<'_>> {
        let faults = if self.pairs { self.circuit.faults() } else { &[] };
        let with = |(number, one)| {
            let others = faults[number + 1..].iter();
            others.map(move |other| Which { entry_point: EntryPoint::Body, faults: vec![one, other] })
        };
        faults.iter().enumerate().flat_map(with).collect()
    }

    /// How many cases there are.
    pub fn cases(&self) -> usize {
        self.singles().len() + self.twos().len()
    }

    /// Where the procedure can be begun.
    fn entry_points(&self) -> &'static [EntryPoint] {
        if self.procedure.has_after_repair() {
            &[EntryPoint::Body, EntryPoint::AfterRepair]
        } else {
            &[EntryPoint::Body]
        }
    }

    /// Runs every case on all cores; memory does not grow with the samples.
    ///
    /// # Errors
    /// What the healthy circuit could not be asked, or an error in the script.
    pub fn prove(&self, watch: &dyn Watch) -> Result<Proof, Box<Diagnostic>> {
        let counted = if self.counting == Counting::Nothing { None } else { Counted::of(&self.procedure) };
        let course = Course::new(self, Arc::new(self.circuit.names()), counted.as_ref(), watch);
        // Where the healthy circuit can't be asked, nothing is proven, and every case would say the same.
        course.run(&Vehicle { entry_point: EntryPoint::Body, faults: &[], seed: self.seed }, false)?;
        let listed = self.singles();
        let family = self.family();
        let entry_point = EntryPoint::Body;
        let which: Vec<Which<'_>> =
            listed.into_iter().chain(family.iter().map(|fault| Which { entry_point, faults: vec![fault] })).collect();
        let mut cases = course.each(Stage::Cases, &which)?;
        let generated = cases.split_off(cases.len() - family.len());
        let after_repair = cases.split_off(1 + self.circuit.faults().len());
        let mut limits = BTreeMap::new();
        for (_, seen) in &cases {
            for (id, limit) in seen {
                limits
                    .entry(id.clone())
                    .and_modify(|known: &mut Limit| known.met(limit))
                    .or_insert_with(|| limit.clone());
            }
        }
        let without_limits =
            |cases: Vec<CaseAndLimits>| -> Vec<Case> { cases.into_iter().map(|(case, _)| case).collect() };
        let cases = without_limits(cases);
        let twos = self.twos();
        let pairs = if twos.is_empty() { vec![] } else { without_limits(course.each(Stage::Pairs, &twos)?) };
        let (mut slips, mut answers) = (None, None);
        if self.slips {
            let first = course.first_runs();
            slips = Some(course.slips(&first));
            answers = Some(course.answers(&first));
        }
        let limits = margins(&cases, &limits);
        Ok(Proof {
            procedure: self.procedure.name.clone(),
            circuit: self.circuit_name.clone(),
            samples: self.samples,
            seed: self.seed,
            by_parts: by_parts(&self.circuit),
            cases,
            generated: without_limits(generated),
            after_repair: without_limits(after_repair),
            pairs,
            limits,
            slips,
            answers,
            coverage: counted.as_ref().map(Counted::coverage).unwrap_or_default(),
        })
    }
}

impl Course<'_> {
    /// Which of several errors is found first, the cores decide: told is that of the first case in order.
    fn each(&self, stage: Stage, which: &[Which<'_>]) -> Result<Vec<CaseAndLimits>, Box<Diagnostic>> {
        self.watch.begins(stage, which.len() as u64 * self.proving.samples);
        let run = |which: &Which<'_>| self.case(which);
        let results: Vec<Result<_, Box<Diagnostic>>> = which.par_iter().map(run).collect();
        results.into_iter().collect()
    }
}
