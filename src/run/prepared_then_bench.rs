//! Answers written down beforehand where there are any, and a simulated circuit for the rest.

use super::answerer::Answerer;
use super::bench::{BenchAnswerer, BenchFailure};
use super::notice::Notice;
use super::prepared_answers::PreparedAnswers;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;

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
}

impl Answerer for PreparedThenBench {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        match request {
            // A doubt is about what was written down, or else about what the bench showed.
            Request::Doubt { prompt, .. } if !self.sheet.has(prompt) => self.bench.ask(request, view),
            Request::Answer { prompt } | Request::NextOfSweep { prompt, .. } => {
                let written = self.sheet.ask(request, view);
                if written.form != Form::Nobody || !self.bench.can_answer(prompt) {
                    return written;
                }
                let shown = self.bench.ask(request, view);
                // Nobody put the run down: the circuit could not be asked, and the sheet may still say what it lacks.
                if shown.form == Form::Pause { written } else { shown }
            }
            _ => self.sheet.ask(request, view),
        }
    }

    fn notice(&mut self, notice: Notice<'_>) {
        self.sheet.notice(notice);
        self.bench.notice(notice);
    }
}
