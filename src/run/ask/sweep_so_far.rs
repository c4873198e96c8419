//! A sweep while it is being taken: its readings so far, and those that need a second look.

use crate::model::limits::Limits;
use crate::model::prompt::{Prompt, Question};
use crate::model::record::given::SweepReading;
use crate::model::typed::{self, Shown};
use crate::run::doubt;

/// A sweep that is being taken: its readings, the line of each in the journal, and what each shows.
#[derive(Default)]
pub(in crate::run) struct SweepSoFar {
    pub(in crate::run) readings: Vec<SweepReading>,
    pub(super) lines: Vec<usize>,
    /// What each shows; none where it can't be read.
    pub(super) shown: Vec<Option<Shown>>,
}

impl SweepSoFar {
    pub(in crate::run) fn push(&mut self, line: usize, reading: SweepReading, shown: Option<Shown>) {
        self.lines.push(line);
        self.readings.push(reading);
        self.shown.push(shown);
    }

    pub(super) fn pop(&mut self) -> Option<(usize, SweepReading)> {
        self.shown.pop();
        self.lines.pop().zip(self.readings.pop())
    }
}

/// The first of these readings about which something is odd, with what is.
pub(in crate::run) fn odd_in_a_sweep(prompt: &Prompt, readings: &[(SweepReading, Shown)]) -> Option<String> {
    let Question::Sweep { ends, .. } = &prompt.question else { return None };
    readings.iter().find_map(|(reading, shown)| match shown {
        Shown::Value(value) => {
            let odd = doubt::of_a_sweep(*value, ends)?;
            Some(format!("{}? {odd}", typed::as_shown(&reading.text, ends.unit)))
        }
        _ => None,
    })
}

/// The first such reading of a sweep, whose limits are its ends.
pub(in crate::run) fn dangerous_in_a_sweep(prompt: &Prompt, readings: &[(SweepReading, Shown)]) -> Option<usize> {
    let Question::Sweep { ends, .. } = &prompt.question else { return None };
    let limits = Limits::between(ends.one, ends.other).or_else(|_| Limits::between(ends.other, ends.one)).ok()?;
    readings.iter().position(|(_, shown)| matches!(shown, Shown::Value(value) if doubt::is_dangerous(*value, &limits)))
}
