//! One case: the healthy circuit, a fault or a pair of them, over all vehicles.

use super::came::judged;
use super::course::{Course, Put, Vehicle, failed};
use super::judge::Truth;
use super::tally::{Limit, tally};
use crate::circuit::error::SolveError;
use crate::circuit::fault::Fault;
use crate::circuit::population::{Drawn, draws};
use crate::circuit::showing::Plain;
use crate::model::diagnostic::Diagnostic;
use crate::model::proof::case::{Case, Hidden, Judgement, NotAsked, WrongRun};
use crate::script::execute::{EntryPoint, Outcome};
use std::collections::BTreeMap;

/// How many causes an isolation is counted for.
const AMONG: usize = 3;

/// A case, and the limits that its prompts had.
pub(super) type CaseAndLimits = (Case, BTreeMap<String, Limit>);

/// Where a run begins, and the faults that are in.
pub(super) struct Which<'a> {
    pub entry_point: EntryPoint,
    pub faults: Vec<&'a Fault>,
}

impl Course<'_> {
    /// How bad a vehicle of this number, from 0, has the faults, and how plainly that shows: of one fault its draws, of which
    /// only the last may show.
    pub(super) fn drawn(&self, faults: &[&Fault], number: u64) -> Result<Vec<Drawn>, SolveError> {
        let proving = self.proving;
        match faults {
            [fault] => draws(&proving.circuit, fault, (number + 1, proving.samples), proving.seed, &proving.meter),
            _ => Ok(vec![Drawn { severity: None, plain: Plain::Showing }]),
        }
    }

    /// Runs one case.
    ///
    /// # Errors
    /// An error in the script.
    pub(super) fn case(&self, which: &Which<'_>) -> Result<CaseAndLimits, Box<Diagnostic>> {
        let Which { entry_point, faults } = which;
        let entry_point = *entry_point;
        let proving = self.proving;
        let mut case = Case {
            faults: faults.iter().map(|fault| fault.id.0.clone()).collect(),
            causes: faults.iter().flat_map(|fault| fault.causes.clone()).collect(),
            how_common: faults.iter().map(|fault| fault.how_common).product(),
            runs: 0,
            not_asked: None,
            hidden: Hidden::default(),
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
        for number in 0..proving.samples {
            let seed = proving.seed.wrapping_add(number);
            let healthy = Vehicle { entry_point, faults: &[], seed };
            let drawn = match self.drawn(faults, number) {
                Ok(drawn) => drawn,
                Err(error) => {
                    let put: Vec<Put<'_>> = faults.iter().map(|fault| Put { fault, severity: None }).collect();
                    not_asked(&mut case, seed, *failed(&Vehicle { faults: &put, ..healthy }, &error));
                    self.watch.ran();
                    continue;
                }
            };
            for drawn in &drawn {
                let put: Vec<Put<'_>> = faults.iter().map(|fault| Put { fault, severity: drawn.severity }).collect();
                let vehicle = Vehicle { faults: &put, ..healthy };
                self.one_of_case(&mut case, &mut limits, &vehicle, (number, drawn.plain), faults)?;
            }
            if drawn.last().is_some_and(|last| last.plain == Plain::Hidden) {
                case.hidden.vehicles += 1;
            }
            self.watch.ran();
        }
        Ok((case, limits))
    }

    fn one_of_case(
        &self,
        case: &mut Case,
        limits: &mut BTreeMap<String, Limit>,
        vehicle: &Vehicle<'_>,
        (number, plain): (u64, Plain),
        faults: &[&Fault],
    ) -> Result<(), Box<Diagnostic>> {
        let is_hidden = plain == Plain::Hidden;
        let after_repair = vehicle.entry_point == EntryPoint::AfterRepair;
        if is_hidden && after_repair {
            // Nobody notices whether it is still in.
            return Ok(());
        }
        let run = match self.run(vehicle, self.counts(number)) {
            Ok(run) => run,
            Err(problem) => {
                not_asked(case, vehicle.seed, *problem);
                return Ok(());
            }
        };
        if let Outcome::Failed(diagnostic) = &run.outcome {
            let failed = failed(vehicle, &diagnostic.title);
            return Err(Box::new(Diagnostic { title: failed.title, ..(**diagnostic).clone() }));
        }
        let truth = Truth::new(&self.proving.circuit, faults, plain);
        let (judgement, named) =
            if after_repair { truth.judge_after_repair(&run.outcome) } else { truth.judge(&run.outcome) };
        let mut as_wanted = matches!(judgement, Judgement::Right | Judgement::NotShown)
            // Who ends without a word on the repair does not call it good.
            || after_repair && !faults.is_empty() && judgement == Judgement::NoConclusion;
        if is_hidden {
            *case.hidden.judged.entry(judgement).or_default() += 1;
            as_wanted |= judgement == Judgement::NoConclusion;
        } else {
            case.runs += 1;
            *case.judged.entry(judgement).or_default() += 1;
            *case.named.entry(named.join(" or ")).or_default() += 1;
            if judgement == Judgement::Right {
                for (index, count) in case.right_among.iter_mut().enumerate() {
                    *count += u64::from(named.len() <= index + 1);
                }
            }
            if faults.len() == 2 && judgement == Judgement::Right {
                let found = self.finds_the_other(faults, &named, vehicle.seed);
                case.other_found += u64::from(found);
                as_wanted &= found;
            }
            tally(&self.proving.circuit, case, &run.entries, limits);
        }
        // A wrong one before one that only came to nothing.
        let is_bad = |judgement| matches!(judgement, Judgement::Wrong | Judgement::Missed);
        let worse = |known: &WrongRun| is_bad(judgement) && !is_bad(known.judgement);
        if !as_wanted && (case.wrong_run.is_none() || faults.len() < 2 && case.wrong_run.as_ref().is_some_and(worse)) {
            let mut wrong_run = WrongRun {
                seed: vehicle.seed,
                severity: vehicle.severity_text(),
                path: run.entries,
                came_to: named.join(" or "),
                judgement,
                reads_healthy: false,
                reads_like: vec![],
                one_part: false,
            };
            if let [one, other] = faults {
                let as_judged = judged(&wrong_run.path);
                let healthy = Vehicle { faults: &[], ..*vehicle };
                wrong_run.reads_healthy = self.run(&healthy, false).is_ok_and(|run| judged(&run.entries) == as_judged);
                wrong_run.reads_like = self.reads_like(&as_judged, vehicle.seed);
                wrong_run.one_part = one.parts().any(|part| other.parts().any(|same| same == part));
            }
            case.wrong_run = Some(wrong_run);
        }
        Ok(())
    }
}

fn not_asked(case: &mut Case, seed: u64, problem: Diagnostic) {
    case.not_asked.get_or_insert_with(|| NotAsked::new(seed, problem)).runs += 1;
}
