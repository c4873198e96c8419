//! One case: the healthy circuit, a fault or a pair of them, over all vehicles.

use super::came::judged;
use super::judge::{judge, judge_after_repair};
use super::proving::Proving;
use super::tally::{Limit, tally};
use crate::circuit::fault::FaultId;
use crate::model::diagnostic::Diagnostic;
use crate::model::points::Points;
use crate::model::proof::case::{Case, Judgement, WrongRun};
use crate::script::execute::{EntryPoint, Outcome};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How many causes an isolation is counted for.
const AMONG: usize = 3;

impl Proving {
    pub(super) fn case(
        &self,
        entry_point: EntryPoint,
        faults: &[usize],
        points: &Arc<Points>,
    ) -> Result<(Case, BTreeMap<String, Limit>), Box<Diagnostic>> {
        let all = self.circuit.faults();
        let ids: Vec<FaultId> = faults.iter().map(|fault| all[*fault].id.clone()).collect();
        let causes: Vec<String> = faults.iter().flat_map(|fault| all[*fault].causes.clone()).collect();
        let mut case = Case {
            faults: ids.iter().map(|id| id.0.clone()).collect(),
            causes: causes.clone(),
            how_common: faults.iter().map(|fault| all[*fault].how_common).product(),
            runs: self.samples,
            judged: BTreeMap::new(),
            named: BTreeMap::new(),
            right_among: vec![0; AMONG],
            other_found: 0,
            readings: 0,
            minutes: 0.0,
            prompts: BTreeMap::new(),
            wrong_run: None,
        };
        let mut limits = BTreeMap::new();
        for sample in 0..self.samples {
            let seed = self.seed.wrapping_add(sample);
            let run = self.run(entry_point, &ids, seed, points)?;
            if let Outcome::Failed(diagnostic) = &run.outcome {
                let failed = self.failed(entry_point, &ids, &diagnostic.title);
                return Err(Box::new(Diagnostic { title: failed.title, ..(**diagnostic).clone() }));
            }
            let (judgement, named) = match entry_point {
                EntryPoint::Body => judge(&run.outcome, &causes),
                EntryPoint::AfterRepair => judge_after_repair(&run.outcome, &causes),
            };
            let as_wanted = judgement == Judgement::Right
                // Who ends without a word on the repair does not call it good.
                || entry_point == EntryPoint::AfterRepair && !faults.is_empty() && judgement == Judgement::NoConclusion;
            *case.judged.entry(judgement).or_default() += 1;
            *case.named.entry(named.join(" or ")).or_default() += 1;
            if judgement == Judgement::Right {
                for (index, count) in case.right_among.iter_mut().enumerate() {
                    *count += u64::from(named.len() <= index + 1);
                }
            }
            let mut found_other = true;
            if faults.len() == 2 && judgement == Judgement::Right {
                found_other = self.finds_the_other(faults, &named, seed, points)?;
                case.other_found += u64::from(found_other);
            }
            tally(&self.circuit, &mut case, &run.entries, &mut limits);
            if (!as_wanted || !found_other) && case.wrong_run.is_none() {
                let mut wrong_run = WrongRun {
                    seed,
                    path: run.entries,
                    came_to: named.join(" or "),
                    judgement,
                    reads_healthy: false,
                    reads_like: vec![],
                    one_part: false,
                };
                if let [one, other] = faults {
                    let as_judged = judged(&wrong_run.path);
                    wrong_run.reads_healthy = judged(&self.run(entry_point, &[], seed, points)?.entries) == as_judged;
                    wrong_run.reads_like = self.reads_like(&as_judged, seed, points)?;
                    wrong_run.one_part = all[*one].parts().any(|part| all[*other].parts().any(|same| same == part));
                }
                case.wrong_run = Some(wrong_run);
            }
        }
        Ok((case, limits))
    }
}
