//! What only pairs of faults are asked: whether the other is found, and what the two read like.

use super::came::{Judged, judged};
use super::course::{Course, OneRun, Put, Vehicle};
use super::judge::Truth;
use crate::circuit::fault::Fault;
use crate::circuit::showing::Plain;
use crate::model::proof::case::Judgement;
use crate::script::execute::EntryPoint;

impl Course<'_> {
    /// Whether the fault that was not named is named once the other is mended.
    pub(super) fn finds_the_other(&self, faults: &[&Fault], named: &[String], seed: u64) -> bool {
        let is_named = |fault: &Fault| fault.causes.iter().any(|cause| named.contains(cause));
        let left: Vec<&Fault> = faults.iter().copied().filter(|fault| !is_named(fault)).collect();
        let [left] = left.as_slice() else { return true };
        let truth = Truth::new(&self.proving.circuit, std::slice::from_ref(left), Plain::Showing);
        // Alone it is a case of its own, and has its row there if it can't be asked.
        self.run_alone(left, seed).is_some_and(|run| truth.judge(&run.outcome).0 == Judgement::Right)
    }

    /// The single faults with which this vehicle's readings come out judged as they did.
    pub(super) fn reads_like(&self, as_judged: &[Judged], seed: u64) -> Vec<String> {
        let faults = self.proving.circuit.faults();
        let alone = |fault| self.run_alone(fault, seed).map(|run| judged(&run.entries));
        let like = |judged: &Option<Vec<Judged>>| judged.as_deref() == Some(as_judged);
        let id = |fault: &Fault| fault.id.0.clone();
        if seed == self.proving.seed {
            // Most pairs that go astray do so on the first vehicle: it is run once for all of them.
            let first = self.alone_on_first.get_or_init(|| faults.iter().map(alone).collect());
            return faults.iter().zip(first).filter(|(_, judged)| like(judged)).map(|(fault, _)| id(fault)).collect();
        }
        faults.iter().filter(|fault| like(&alone(fault))).map(id).collect()
    }

    fn run_alone(&self, fault: &Fault, seed: u64) -> Option<OneRun> {
        let put = Put { fault, severity: None };
        self.run(&Vehicle { entry_point: EntryPoint::Body, faults: &[put], seed }, false).ok()
    }
}
