//! What only pairs of faults are asked: whether the other is found, and what the two read like.

use super::came::{Judged, judged};
use super::judge::judge;
use super::proving::Proving;
use crate::model::diagnostic::Diagnostic;
use crate::model::points::Points;
use crate::model::proof::case::Judgement;
use crate::script::execute::EntryPoint;
use std::sync::Arc;

impl Proving {
    /// Whether the fault that was not named is named once the other is mended.
    pub(super) fn finds_the_other(
        &self,
        faults: &[usize],
        named: &[String],
        seed: u64,
        points: &Arc<Points>,
    ) -> Result<bool, Box<Diagnostic>> {
        let all = self.circuit.faults();
        let is_named = |fault: &usize| all[*fault].causes.iter().any(|cause| named.contains(cause));
        let left: Vec<usize> = faults.iter().copied().filter(|fault| !is_named(fault)).collect();
        let [left] = left.as_slice() else { return Ok(true) };
        let run = self.run(EntryPoint::Body, std::slice::from_ref(&all[*left].id), seed, points)?;
        Ok(judge(&run.outcome, &all[*left].causes).0 == Judgement::Right)
    }

    /// The single faults with which this vehicle's readings come out judged as they did.
    pub(super) fn reads_like(
        &self,
        as_judged: &[Judged],
        seed: u64,
        points: &Arc<Points>,
    ) -> Result<Vec<String>, Box<Diagnostic>> {
        let mut like = Vec::new();
        for fault in self.circuit.faults() {
            if judged(&self.run(EntryPoint::Body, std::slice::from_ref(&fault.id), seed, points)?.entries) == as_judged
            {
                like.push(fault.id.0.clone());
            }
        }
        Ok(like)
    }
}
