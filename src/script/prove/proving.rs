//! A procedure and a circuit to prove it on, and one run of it.

use crate::circuit::bench::Bench;
use crate::circuit::fault::FaultId;
use crate::circuit::netlist::Circuit;
use crate::circuit::sample::Sample;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::CautionRules;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::Entry;
use crate::model::meter::Meter;
use crate::model::points::Points;
use crate::model::stamp::Stamp;
use crate::run::answerer::{Answering, MeterInUse};
use crate::run::bench::BenchAnswerer;
use crate::run::journal;
use crate::run::session::{Parts, Session};
use crate::script::execute::{EntryPoint, Outcome, execute};
use crate::script::procedure::Procedure;
use std::sync::Arc;

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

impl Proving {
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
    pub(super) fn failed(
        &self,
        entry_point: EntryPoint,
        faults: &[FaultId],
        what: &dyn std::fmt::Display,
    ) -> Box<Diagnostic> {
        let when = if entry_point == EntryPoint::AfterRepair { "after the repair, " } else { "" };
        let faults: Vec<String> = faults.iter().map(|fault| fault.0.clone()).collect();
        let title = format!("{when}with {}: {what}", in_words(&faults));
        Box::new(Diagnostic { title, place: None, hint: None })
    }
}

fn in_words(faults: &[String]) -> String {
    if faults.is_empty() { "no fault".to_owned() } else { faults.join(" and ") }
}
