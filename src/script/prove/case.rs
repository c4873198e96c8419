//! One case: the healthy circuit, a fault or a pair of them, over all vehicles.

use super::came::judged;
use super::course::{Course, Vehicle, failed};
use super::judge::{judge, judge_after_repair};
use super::tally::{Limit, tally};
use crate::circuit::fault::FaultId;
use crate::model::diagnostic::Diagnostic;
use crate::model::proof::case::{Case, Judgement, NotAsked, WrongRun};
use crate::script::execute::{EntryPoint, Outcome};
use std::collections::BTreeMap;

/// How many causes an isolation is counted for.
const AMONG: usize = 3;

/// A case, and the limits that its prompts had.
pub(super) type CaseAndLimits = (Case, BTreeMap<String, Limit>);

impl Course<'_> {
    /// Runs one case.
    ///
    /// # Errors
    /// An error in the script.
    pub(super) fn case(&self, entry_point: EntryPoint, faults: &[usize]) -> Result<CaseAndLimits, Box<Diagnostic>> {
        let proving = self.proving;
        let all = proving.circuit.faults();
        let ids: Vec<FaultId> = faults.iter().map(|fault| all[*fault].id.clone()).collect();
        let causes: Vec<String> = faults.iter().flat_map(|fault| all[*fault].causes.clone()).collect();
        let mut case = Case {
            faults: ids.iter().map(|id| id.0.clone()).collect(),
            causes: causes.clone(),
            how_common: faults.iter().map(|fault| all[*fault].how_common).product(),
            runs: 0,
            not_asked: None,
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
        for sample in 0..proving.samples {
            let vehicle = Vehicle { entry_point, faults: &ids, seed: proving.seed.wrapping_add(sample) };
            let run = self.run(&vehicle, self.counts(sample));
            self.watch.ran();
            let run = match run {
                Ok(run) => run,
                Err(problem) => {
                    let not_asked = case.not_asked.get_or_insert_with(|| NotAsked::new(vehicle.seed, *problem));
                    not_asked.runs += 1;
                    continue;
                }
            };
            if let Outcome::Failed(diagnostic) = &run.outcome {
                let failed = failed(&vehicle, &diagnostic.title);
                return Err(Box::new(Diagnostic { title: failed.title, ..(**diagnostic).clone() }));
            }
            case.runs += 1;
            let (judgement, named) = match entry_point {
                EntryPoint::Body => judge(&run.outcome, &causes),
                EntryPoint::AfterRepair => judge_after_repair(&run.outcome, &causes),
            };
            let as_wanted = matches!(judgement, Judgement::Right | Judgement::NotShown)
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
                found_other = self.finds_the_other(faults, &named, vehicle.seed);
                case.other_found += u64::from(found_other);
            }
            tally(&proving.circuit, &mut case, &run.entries, &mut limits);
            if (!as_wanted || !found_other) && case.wrong_run.is_none() {
                let mut wrong_run = WrongRun {
                    seed: vehicle.seed,
                    path: run.entries,
                    came_to: named.join(" or "),
                    judgement,
                    reads_healthy: false,
                    reads_like: vec![],
                    one_part: false,
                };
                if let [one, other] = faults {
                    let as_judged = judged(&wrong_run.path);
                    let healthy = Vehicle { faults: &[], ..vehicle };
                    wrong_run.reads_healthy =
                        self.run(&healthy, false).is_ok_and(|run| judged(&run.entries) == as_judged);
                    wrong_run.reads_like = self.reads_like(&as_judged, vehicle.seed);
                    wrong_run.one_part = all[*one].parts().any(|part| all[*other].parts().any(|same| same == part));
                }
                case.wrong_run = Some(wrong_run);
            }
        }
        Ok((case, limits))
    }
}
