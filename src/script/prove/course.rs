//! A proof in course: what its runs share, and one run.

use super::came::Judged;
use super::counted::Counted;
use super::proving::{Counting, Proving};
use super::watch::{Unwatched, Watch};
use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::fault::{Fault, FaultId};
use crate::circuit::sample::Sample;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::CautionRules;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::Entry;
use crate::model::job::Nominal;
use crate::model::points::Points;
use crate::model::stamp::Stamp;
use crate::run::answerer::{Answerer, Answering, MeterInUse};
use crate::run::bench::BenchAnswerer;
use crate::run::journal;
use crate::run::session::{Parts, Session};
use crate::script::execute::{EntryPoint, Outcome, execute};
use crate::script::procedure::Procedure;
use std::sync::{Arc, OnceLock};

/// What the runs of a proof share.
pub(super) struct Course<'a> {
    pub proving: &'a Proving,
    points: Arc<Points>,
    counted: Option<&'a Counted>,
    pub watch: &'a dyn Watch,
    rules: Arc<CautionRules>,
    meter: Arc<MeterInUse>,
    /// How the first vehicle's answers come out with each listed fault alone.
    pub alone_on_first: OnceLock<Vec<Option<Vec<Judged>>>>,
}

/// Which vehicle a run is on, and where the procedure begins.
#[derive(Clone, Copy)]
pub(super) struct Vehicle<'a> {
    pub entry_point: EntryPoint,
    pub faults: &'a [Put<'a>],
    pub seed: u64,
}

/// A fault, and how bad it is; in the middle of its range if that is not said.
#[derive(Clone, Copy)]
pub(super) struct Put<'a> {
    pub fault: &'a Fault,
    pub severity: Option<f64>,
}

impl Vehicle<'_> {
    /// How bad the fault is, in words.
    pub(super) fn severity_text(&self) -> Option<String> {
        let [Put { fault, severity: Some(severity) }] = self.faults else { return None };
        Some(fault.severity?.quantity(*severity).to_string())
    }
}

/// One run, as much of it as a proof needs.
pub struct OneRun {
    /// How it came out.
    pub outcome: Outcome,
    /// What was recorded.
    pub entries: Vec<Entry>,
}

impl<'a> Course<'a> {
    pub(super) fn new(
        proving: &'a Proving,
        points: Arc<Points>,
        counted: Option<&'a Counted>,
        watch: &'a dyn Watch,
    ) -> Self {
        let rules = watch.rules();
        let meter = Arc::new(MeterInUse::new(proving.meter.clone()));
        Self { proving, points, counted, watch, rules, meter, alone_on_first: OnceLock::new() }
    }

    /// Whether the run on the vehicle of this number, from 0, is counted.
    pub(super) fn counts(&self, number: u64) -> bool {
        match self.proving.counting {
            Counting::Nothing => false,
            Counting::FirstVehicle => number == 0,
            Counting::EveryRun => true,
        }
    }

    /// One run that the circuit answers.
    pub(super) fn run(&self, vehicle: &Vehicle<'_>, counts: bool) -> Result<OneRun, Box<Diagnostic>> {
        self.run_with(vehicle, counts, |bench| Box::new(bench))
    }

    /// One run that the circuit answers, with somebody in front of it.
    pub(super) fn run_with(
        &self,
        vehicle: &Vehicle<'_>,
        counts: bool,
        answerer: impl Fn(BenchAnswerer) -> Box<dyn Answerer>,
    ) -> Result<OneRun, Box<Diagnostic>> {
        let plain = &self.proving.procedure;
        let Some(counted) = self.counted.filter(|_| counts) else {
            return self.run_of(plain, vehicle, &answerer);
        };
        let run = self.run_of(&counted.procedure, vehicle, &answerer);
        counted.ran();
        match run {
            Ok(run) if !matches!(run.outcome, Outcome::Failed(_)) => Ok(run),
            // Counters stand in the text of that run: without them, places and limits of the script are its own.
            _ => self.run_of(plain, vehicle, &answerer),
        }
    }

    fn run_of(
        &self,
        procedure: &Procedure,
        vehicle: &Vehicle<'_>,
        answerer: &impl Fn(BenchAnswerer) -> Box<dyn Answerer>,
    ) -> Result<OneRun, Box<Diagnostic>> {
        let Vehicle { entry_point, faults, seed } = *vehicle;
        let proving = self.proving;
        let placed = faults.iter().map(|put| put.fault.placed(put.severity)).collect::<Result<Vec<_>, _>>();
        let bench = placed
            .and_then(|placed| {
                Bench::with(Arc::clone(&proving.circuit), placed, Sample::of_seed(seed), proving.meter.clone())
            })
            .map_err(|error| failed(vehicle, &error))?;
        let bench = BenchAnswerer::alone(bench);
        let trouble = bench.trouble();
        let parts = Parts {
            journal: Box::new(journal::Nowhere),
            answerer: answerer(bench),
            answering: Answering::unattended(AnsweredBy::Bench),
            // Nothing in a proof depends on the time.
            clock: Box::new(journal::FixedClock::at(Stamp::new("2000-01-01T00:00:00Z"))),
            rules: Arc::clone(&self.rules),
            meter: Arc::clone(&self.meter),
            causes: Arc::clone(&procedure.causes),
            past: None,
        };
        let mut started = procedure.started(AnsweredBy::Bench);
        started.nominal = proving.circuit.nominal().map(Nominal::quantity);
        started.vehicle = proving.circuit.start().clone();
        started.clock_set_by_hand = true;
        entry_point.put_into(&mut started);
        let session = Session::start(parts, started).map_err(|stop| failed(vehicle, &format!("{stop:?}")))?;
        let finished = execute(procedure, entry_point, session, Some(Arc::clone(&self.points)));
        match trouble.error() {
            Some(trouble) => {
                let mut failed = failed(vehicle, &trouble);
                failed.place = finished.place;
                failed.hint = trouble.hint().map(str::to_owned);
                Err(failed)
            }
            None => {
                let run = OneRun { outcome: finished.outcome, entries: finished.entries };
                self.watch.came(&run.entries);
                Ok(run)
            }
        }
    }
}

impl Proving {
    /// One run from one of its entry points with these faults, each at the middle of its range, on the vehicle of this seed.
    ///
    /// # Errors
    /// Where the circuit can't be solved.
    pub fn run(
        &self,
        entry_point: EntryPoint,
        faults: &[FaultId],
        seed: u64,
        points: &Arc<Points>,
    ) -> Result<OneRun, Box<Diagnostic>> {
        let course = Course::new(self, Arc::clone(points), None, &Unwatched);
        let found = faults.iter().map(|id| Ok(Put { fault: self.circuit.fault(id)?, severity: None }));
        let put = found.collect::<Result<Vec<_>, SolveError>>();
        let put = put.map_err(|error| failed(&Vehicle { entry_point, faults: &[], seed }, &error))?;
        course.run(&Vehicle { entry_point, faults: &put, seed }, false)
    }
}

/// What went wrong on a vehicle.
pub(super) fn failed(vehicle: &Vehicle<'_>, what: &dyn std::fmt::Display) -> Box<Diagnostic> {
    let when = if vehicle.entry_point == EntryPoint::AfterRepair { "after the repair, " } else { "" };
    let severity = vehicle.severity_text().map(|severity| format!(" ({severity})")).unwrap_or_default();
    let title = format!("{when}with {}{severity}: {what}", in_words(vehicle.faults));
    Box::new(Diagnostic { title, place: None, hint: None })
}

fn in_words(faults: &[Put<'_>]) -> String {
    let faults: Vec<&str> = faults.iter().map(|put| put.fault.id.0.as_str()).collect();
    if faults.is_empty() { "no fault".to_owned() } else { faults.join(" and ") }
}
