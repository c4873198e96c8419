//! Proving: a procedure against a simulated circuit, healthy and with each fault put in.

use super::execute::{EntryPoint, Outcome, execute};
use super::procedure::Procedure;
use crate::circuit::bench::Bench;
use crate::circuit::fault::FaultId;
use crate::circuit::netlist::Circuit;
use crate::circuit::sample::Sample;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::CautionRules;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::{Entry, Event};
use crate::model::job::Nominal;
use crate::model::limits::{LimitResult, Verdict};
use crate::model::meter::Meter;
use crate::model::points::Points;
use crate::model::prompt::{Answer, CauseId, Prompt, PromptId, Question};
use crate::model::proof::{Case, Judgement, LimitMargin, Proof, WrongRun};
use crate::model::stamp::Stamp;
use crate::model::sweep::{Shape, Track};
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use crate::model::vehicle::Action;
use crate::run::answerer::{Answering, MeterInUse};
use crate::run::bench::BenchAnswerer;
use crate::run::journal;
use crate::run::session::{Parts, Session};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Minutes that one reading takes once the leads are where they belong (common practice, no source).
const MINUTES_A_READING: f64 = 0.5;
/// How many causes an isolation is counted for.
const AMONG: usize = 3;

/// A procedure and a circuit to prove it on.
pub struct Proving {
    /// The procedure.
    pub procedure: Arc<Procedure>,
    /// The circuit.
    pub circuit: Arc<Circuit>,
    /// Its name.
    pub circuit_name: String,
    /// Vehicles for each case.
    pub samples: u64,
    /// Where the draws begin.
    pub seed: u64,
    /// Every pair of faults, too.
    pub pairs: bool,
    /// The meter.
    pub meter: Meter,
}

/// One run, as much of it as a proof needs.
pub struct OneRun {
    /// How it came out.
    pub outcome: Outcome,
    /// What was recorded.
    pub entries: Vec<Entry>,
}

/// How an answer came out, as far as a script can ask.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Came {
    /// A reading against its limits; `None` if nothing was judged.
    Reading(Option<LimitResult>),
    /// A sweep against its ends.
    Swept(Shape),
}

/// A prompt and how its answer came out.
type Judged = (PromptId, Came);

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

    /// One run from one of its entry points with these faults on the vehicle of this seed.
    ///
    /// # Errors
    /// What the circuit could not be asked.
    pub fn run(
        &self,
        entry_point: EntryPoint,
        faults: &[FaultId],
        seed: u64,
        points: &Arc<Points>,
    ) -> Result<OneRun, Box<Diagnostic>> {
        let bench = Bench::new(Arc::clone(&self.circuit), faults, Sample::of_seed(seed), self.meter.clone())
            .map_err(|error| self.failed(entry_point, faults, &error))?;
        let answerer = BenchAnswerer::alone(bench);
        let trouble = answerer.trouble();
        let parts = Parts {
            journal: Box::new(journal::Nowhere),
            answerer: Box::new(answerer),
            answering: Answering::unattended(AnsweredBy::Bench),
            // Nothing in a proof depends on the time.
            clock: Box::new(journal::FixedClock::at(Stamp::new("2000-01-01T00:00:00Z"))),
            rules: Arc::new(CautionRules::default()),
            meter: Arc::new(MeterInUse::new(self.meter.clone())),
            causes: Arc::clone(&self.procedure.causes),
            past: None,
        };
        let mut started = self.procedure.started(AnsweredBy::Bench);
        started.vehicle = self.circuit.start().clone();
        started.nominal = self.circuit.nominal().map(Nominal::quantity);
        started.clock_set_by_hand = true;
        entry_point.put_into(&mut started);
        let session =
            Session::start(parts, started).map_err(|stop| self.failed(entry_point, faults, &format!("{stop:?}")))?;
        let finished = execute(&self.procedure, entry_point, session, Some(Arc::clone(points)));
        match trouble.error() {
            Some(trouble) => {
                let mut failed = self.failed(entry_point, faults, &trouble);
                failed.place = finished.place;
                failed.hint = trouble.hint().map(str::to_owned);
                Err(failed)
            }
            None => Ok(OneRun { outcome: finished.outcome, entries: finished.entries }),
        }
    }

    /// What went wrong in a case.
    fn failed(&self, entry_point: EntryPoint, faults: &[FaultId], what: &dyn std::fmt::Display) -> Box<Diagnostic> {
        let when = if entry_point == EntryPoint::AfterRepair { "after the repair, " } else { "" };
        let faults: Vec<String> = faults.iter().map(|fault| fault.0.clone()).collect();
        let title = format!("{when}with {}: {what}", in_words(&faults));
        Box::new(Diagnostic { title, place: None, hint: None })
    }

    fn case(
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
            self.tally(&mut case, &run.entries, &mut limits);
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

    /// Whether the fault that was not named is named once the other is mended.
    fn finds_the_other(
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
    fn reads_like(
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

    fn tally(&self, case: &mut Case, entries: &[Entry], limits: &mut BTreeMap<String, Limit>) {
        let mut last: Vec<String> = Vec::new();
        let mut sweep: Vec<String> = Vec::new();
        for entry in entries {
            match &entry.event {
                Event::Acted { action: Action::Wait { time }, .. } => case.minutes += time.si() / 60.0,
                Event::SweepRead { text, .. } => sweep.push(text.clone()),
                Event::Answered { prompt, answer, verdict, .. } => {
                    let texts = std::mem::take(&mut sweep);
                    if prompt.question.unit().is_none() {
                        continue;
                    }
                    case.readings += 1;
                    case.minutes += MINUTES_A_READING;
                    let ends: Vec<String> = prompt
                        .question
                        .leads()
                        .map(|leads| leads.ends().into_iter().map(|(_, end)| end.name.to_string()).collect())
                        .unwrap_or_default();
                    for end in &ends {
                        if !last.contains(end) {
                            case.minutes += self.circuit.minutes_to(end);
                        }
                    }
                    if !ends.is_empty() {
                        last = ends;
                    }
                    let asked = case.prompts.entry(prompt.id.to_string()).or_default();
                    asked.asked += 1;
                    let came = Came::of(prompt, *verdict, &texts);
                    asked.out += u64::from(came.is_out());
                    asked.low += u64::from(came == Came::Reading(Some(LimitResult::Low)));
                    asked.high += u64::from(came == Came::Reading(Some(LimitResult::High)));
                    let exact = prompt.question.unit().and_then(|unit| Unit::exact(unit.dimension()));
                    asked.unit = exact.map(Unit::word_without_prefix);
                    if let Some(value) = value_of(prompt, answer) {
                        asked.least = Some(asked.least.map_or(value, |least| least.min(value)));
                        asked.greatest = Some(asked.greatest.map_or(value, |greatest| greatest.max(value)));
                    }
                    if let Question::Reading { limits: bounds, .. } | Question::ModuleValue { limits: bounds, .. } =
                        &prompt.question
                    {
                        let limit = Limit {
                            low: bounds.low().map(|low| low.si()),
                            high: bounds.high().map(|high| high.si()),
                            unit: bounds.unit,
                            varies: false,
                        };
                        let known = limits.entry(prompt.id.to_string());
                        known.and_modify(|known| known.met(&limit)).or_insert(limit);
                    }
                }
                _ => {}
            }
        }
    }
}

impl Came {
    fn of(prompt: &Prompt, verdict: Option<Verdict>, sweep: &[String]) -> Self {
        let Question::Sweep { ends, .. } = &prompt.question else {
            return Self::Reading(verdict.map(|verdict| verdict.standing));
        };
        let shown: Vec<Shown> = sweep.iter().filter_map(|text| typed::read(text, ends.unit).ok()).collect();
        Self::Swept(Track::of(&shown, ends).shape)
    }

    /// Whether it came out other than good.
    fn is_out(self) -> bool {
        match self {
            Self::Reading(standing) => standing.is_some_and(|standing| standing != LimitResult::In),
            Self::Swept(shape) => shape != Shape::Follows,
        }
    }
}

/// How every answer of a run came out, in order.
fn judged(entries: &[Entry]) -> Vec<Judged> {
    let mut sweep = Vec::new();
    let mut list = Vec::new();
    for entry in entries {
        match &entry.event {
            Event::SweepRead { text, .. } => sweep.push(text.clone()),
            Event::Answered { prompt, verdict, .. } => {
                let texts = std::mem::take(&mut sweep);
                list.push((prompt.id.clone(), Came::of(prompt, *verdict, &texts)));
            }
            _ => {}
        }
    }
    list
}

#[derive(Clone)]
struct Limit {
    low: Option<f64>,
    high: Option<f64>,
    unit: Unit,
    /// Another run had another limit, as where it follows from a reading before.
    varies: bool,
}

impl Limit {
    fn met(&mut self, other: &Self) {
        self.varies |= other.varies || (self.low, self.high) != (other.low, other.high);
    }
}

fn value_of(prompt: &Prompt, answer: &Answer) -> Option<f64> {
    match answer {
        Answer::Reading { typed } => match typed::read(typed, prompt.question.unit()?) {
            Ok(Shown::Value(value)) => Some(value.si()),
            _ => None,
        },
        _ => None,
    }
}

fn in_words(faults: &[String]) -> String {
    if faults.is_empty() { "no fault".to_owned() } else { faults.join(" and ") }
}

fn judge(outcome: &Outcome, causes: &[String]) -> (Judgement, Vec<String>) {
    let Outcome::Concluded(named) = outcome else { return (Judgement::NoConclusion, vec!["no conclusion".to_owned()]) };
    let named: Vec<String> = named.iter().map(|cause| cause.id.to_string()).collect();
    let nothing = named.iter().all(|cause| cause == CauseId::NOT_PRESENT);
    let judgement = match (causes.is_empty(), nothing) {
        (true, true) => Judgement::Right,
        (true, false) => Judgement::Wrong,
        (false, true) if causes.iter().any(|cause| cause == CauseId::NOT_PRESENT) => Judgement::Right,
        (false, true) => Judgement::Missed,
        (false, false) if named.iter().any(|cause| causes.contains(cause)) => Judgement::Right,
        (false, false) => Judgement::Wrong,
    };
    (judgement, named)
}

/// The check after the repair: well is what only the healthy circuit may be called.
fn judge_after_repair(outcome: &Outcome, causes: &[String]) -> (Judgement, Vec<String>) {
    let Outcome::Concluded(named) = outcome else { return (Judgement::NoConclusion, vec!["no conclusion".to_owned()]) };
    let named: Vec<String> = named.iter().map(|cause| cause.id.to_string()).collect();
    let well = |cause: &String| cause == CauseId::REPAIRED || cause == CauseId::NOT_PRESENT;
    let judgement = match causes {
        [] if named.iter().all(well) => Judgement::Right,
        [] => Judgement::Wrong,
        _ if named.iter().any(well) && !causes.iter().any(|cause| cause == CauseId::NOT_PRESENT) => Judgement::Missed,
        _ => Judgement::Right,
    };
    (judgement, named)
}

/// How close the readings come to each limit, from both sides; a case belongs outside when most of its runs read so.
fn margins(cases: &[Case], limits: &BTreeMap<String, Limit>) -> Vec<LimitMargin> {
    let mut margins = Vec::new();
    for (prompt, limit) in limits {
        for (side, value) in [("low", limit.low), ("high", limit.high)] {
            let Some(value) = value else { continue };
            let (mut inside, mut outside): (Option<f64>, Option<f64>) = (None, None);
            for asked in cases.iter().filter_map(|case| case.prompts.get(prompt)) {
                let (Some(least), Some(greatest)) = (asked.least, asked.greatest) else { continue };
                let count = if side == "low" { asked.low } else { asked.high };
                let belongs_outside = 2 * count > asked.asked;
                match (side, belongs_outside) {
                    ("low", false) => inside = Some(inside.map_or(least, |inside| inside.min(least))),
                    ("low", true) => outside = Some(outside.map_or(greatest, |outside| outside.max(greatest))),
                    (_, false) => inside = Some(inside.map_or(greatest, |inside| inside.max(greatest))),
                    (_, true) => outside = Some(outside.map_or(least, |outside| outside.min(least))),
                }
            }
            let overlap = match (inside, outside) {
                (Some(inside), Some(outside)) if side == "low" => inside <= outside,
                (Some(inside), Some(outside)) => inside >= outside,
                _ => false,
            };
            let best = match (inside, outside) {
                (Some(inside), Some(outside)) if !overlap => Some((inside + outside) / 2.0),
                _ => None,
            };
            let unit = limit.unit.word();
            margins.push(LimitMargin {
                prompt: prompt.clone(),
                side,
                limit: value,
                varies: limit.varies,
                unit,
                inside,
                outside,
                best,
                overlap,
            });
        }
    }
    let closeness = |margin: &LimitMargin| -> f64 {
        let scale = margin.limit.abs().max(1e-9);
        [margin.inside, margin.outside]
            .into_iter()
            .flatten()
            .map(|value| (value - margin.limit).abs() / scale)
            .fold(f64::INFINITY, f64::min)
    };
    margins.sort_by(|a, b| b.overlap.cmp(&a.overlap).then(closeness(a).total_cmp(&closeness(b))));
    margins
}
