//! An answer that was given, with all that belongs to it.

use crate::model::doubt::Doubt;
use crate::model::limits::Verdict;
use crate::model::origin::Origin;
use crate::model::prompt::{Answer, Prompt, PromptId};
use crate::model::stamp::Stamp;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use serde::Serialize;
use std::sync::Arc;

/// One reading of a sweep: as typed, and where the moving part stood.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct SweepReading {
    /// As typed.
    pub text: String,
    /// Where the moving part stood, if said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position: Option<String>,
}

impl SweepReading {
    /// The value of each of these readings, in the unit of their prompt; `None` where that can't be read.
    pub fn shown(readings: &[Self], unit: Unit) -> Vec<Option<Shown>> {
        readings.iter().map(|reading| typed::read(&reading.text, unit).ok()).collect()
    }

    /// A reading as it is typed at the prompt: `0.52`, `0.52 @ half open`.
    pub fn as_typed(text: &str, position: Option<&str>) -> String {
        match position {
            Some(position) => format!("{text} @ {position}"),
            None => text.to_owned(),
        }
    }
}

/// One answer with all that belongs to it.
#[derive(Clone, PartialEq, Debug)]
pub struct Answered {
    /// Its line in the journal, from 1.
    pub line: usize,
    /// When.
    pub at: Stamp,
    /// The question.
    pub prompt: Arc<Prompt>,
    /// The answer.
    pub answer: Answer,
    /// What was typed, as values: of a reading one, of lowest and highest two, of a sweep those of its readings, each
    /// `None` where it can't be read; none where no number was asked for or it was skipped.
    pub shown: Vec<Option<Shown>>,
    /// The verdict.
    pub verdict: Option<Verdict>,
    /// The readings of a sweep.
    pub sweep: Vec<SweepReading>,
    /// The text that was typed first and doubted.
    pub doubts: Vec<(Arc<str>, Doubt)>,
    /// Where the answer came from.
    pub origin: Origin,
    /// The line at which it was taken back.
    pub struck_at: Option<usize>,
    /// The line at which it was given, where it was kept after another answer was changed.
    pub kept_from: Option<usize>,
}

/// An answer that was changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// The line at which it was.
    pub line: usize,
    /// When.
    pub at: Stamp,
    /// Its prompt.
    pub id: PromptId,
    /// The old answer.
    pub old: String,
    /// The answer that was meant; none where it was measured again.
    pub new: Option<Arc<str>>,
    /// Why.
    pub reason: String,
}

/// The typed text of an answer, as values in the unit of its question.
pub(super) fn shown(prompt: &Prompt, answer: &Answer, sweep: &[SweepReading]) -> Vec<Option<Shown>> {
    let Some(unit) = prompt.question.unit() else { return vec![] };
    match answer {
        Answer::Reading { typed } => vec![typed::read_reading(typed, unit).ok()],
        Answer::LowestHighest { lowest, highest } => {
            vec![typed::read(lowest, unit).ok(), typed::read(highest, unit).ok()]
        }
        Answer::Sweep { .. } => SweepReading::shown(sweep, unit),
        Answer::YesNo { .. } | Answer::Choice { .. } | Answer::Note { .. } | Answer::Skipped { .. } => vec![],
    }
}
