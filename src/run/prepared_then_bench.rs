//! Answers written down beforehand where there are any, and a simulated circuit for the rest.

use super::answerer::{Acknowledgement, Answerer, Reply, View};
use super::bench::{BenchAnswerer, BenchFailure};
use super::journal::Durability;
use super::prepared_answers::PreparedAnswers;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::AnsweredBy;
use crate::model::prompt::Prompt;
use crate::model::record::SweepReading;
use crate::model::vehicle::{Action, VehicleState};

/// A simulated circuit with a sheet of answers over it.
pub struct PreparedThenBench {
    sheet: PreparedAnswers,
    bench: BenchAnswerer,
}

impl PreparedThenBench {
    /// Where the sheet has an answer it stands, as a person's would; the bench is asked for the rest.
    pub const fn new(sheet: PreparedAnswers, bench: BenchAnswerer) -> Self {
        Self { sheet, bench }
    }

    /// What the circuit could not be asked, to be looked at afterwards.
    pub fn trouble(&self) -> BenchFailure {
        self.bench.trouble()
    }

    fn or_ask_bench(
        &mut self,
        prompt: &Prompt,
        written: Reply,
        ask: impl FnOnce(&mut BenchAnswerer) -> Reply,
    ) -> Reply {
        if written != Reply::Nobody {
            return written;
        }
        if !self.bench.can_answer(prompt) {
            return Reply::Nobody;
        }
        match ask(&mut self.bench) {
            // Nobody put the run down: the circuit could not be asked, and the sheet may still say what it lacks.
            Reply::Pause => Reply::Nobody,
            reply => reply,
        }
    }
}

impl Answerer for PreparedThenBench {
    fn answered_by(&self) -> AnsweredBy {
        AnsweredBy::Bench
    }

    fn durability(&self) -> Durability {
        Durability::AtEnd
    }

    fn caution(&mut self, rules: &[&Rule]) -> Acknowledgement {
        self.sheet.caution(rules)
    }

    fn act(&mut self, action: &Action, view: View<'_>) -> Reply {
        self.sheet.act(action, view)
    }

    fn answer(&mut self, prompt: &Prompt, view: View<'_>) -> Reply {
        let written = self.sheet.answer(prompt, view);
        self.or_ask_bench(prompt, written, |bench| bench.answer(prompt, view))
    }

    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], view: View<'_>) -> Reply {
        let written = self.sheet.next_of_sweep(prompt, so_far, view);
        self.or_ask_bench(prompt, written, |bench| bench.next_of_sweep(prompt, so_far, view))
    }

    fn refused(&mut self, problem: &str) -> bool {
        self.sheet.refused(problem)
    }

    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt, view: View<'_>) -> Reply {
        // A doubt is about what was written down, or else about what the bench showed.
        if self.sheet.has(prompt) {
            self.sheet.doubt(prompt, typed, doubt, view)
        } else {
            self.bench.doubt(prompt, typed, doubt, view)
        }
    }

    fn confirm_vehicle(&mut self, left: &VehicleState) -> Option<VehicleState> {
        self.sheet.confirm_vehicle(left)
    }
}
