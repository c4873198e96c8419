//! What only pairs of faults are asked: whether the other is found, and what the two read like.

use super::came::{Judged, judged};
use super::course::{Course, Vehicle};
use super::judge::judge;
use crate::circuit::fault::FaultId;
use crate::model::proof::case::Judgement;
use crate::script::execute::EntryPoint;

impl Course<'_> {
    /// Whether the fault that was not named is named once the other is mended.
    pub(super) fn finds_the_other(&self, faults: &[usize], named: &[String], seed: u64) -> bool {
        let all = self.proving.circuit.faults();
        let is_named = |fault: &usize| all[*fault].causes.iter().any(|cause| named.contains(cause));
        let left: Vec<usize> = faults.iter().copied().filter(|fault| !is_named(fault)).collect();
        let [left] = left.as_slice() else { return true };
        // Alone it is a case of its own, and has its row there if it can't be asked.
        let run = self.run(&alone(&all[*left].id, seed), false);
        run.is_ok_and(|run| judge(&run.outcome, &all[*left].causes).0 == Judgement::Right)
    }

    /// The single faults with which this vehicle's readings come out judged as they did.
    pub(super) fn reads_like(&self, as_judged: &[Judged], seed: u64) -> Vec<String> {
        let faults = self.proving.circuit.faults().iter();
        let like = faults.filter(|fault| {
            self.run(&alone(&fault.id, seed), false).is_ok_and(|run| judged(&run.entries) == as_judged)
        });
        like.map(|fault| fault.id.0.clone()).collect()
    }
}

fn alone(fault: &FaultId, seed: u64) -> Vehicle<'_> {
    Vehicle { entry_point: EntryPoint::Body, faults: std::slice::from_ref(fault), seed }
}
