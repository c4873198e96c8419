//! How the answers of a run came out, as far as a script can ask.

use crate::model::event::{Entry, Event};
use crate::model::limits::{LimitResult, Verdict};
use crate::model::prompt::{Prompt, PromptId, Question};
use crate::model::sweep::{Shape, Track};
use crate::model::typed::{self, Shown};

/// How an answer came out, as far as a script can ask.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Came {
    /// A reading against its limits; `None` if nothing was judged.
    Reading(Option<LimitResult>),
    /// A sweep against its ends.
    Swept(Shape),
}

/// A prompt and how its answer came out.
pub(super) type Judged = (PromptId, Came);

impl Came {
    pub(super) fn of(prompt: &Prompt, verdict: Option<Verdict>, sweep: &[String]) -> Self {
        let Question::Sweep { ends, .. } = &prompt.question else {
            return Self::Reading(verdict.map(|verdict| verdict.standing));
        };
        let shown: Vec<Shown> = sweep.iter().filter_map(|text| typed::read(text, ends.unit).ok()).collect();
        Self::Swept(Track::of(&shown, ends).shape)
    }

    /// Whether it came out other than good.
    pub(super) fn is_out(self) -> bool {
        match self {
            Self::Reading(standing) => standing.is_some_and(|standing| standing != LimitResult::In),
            Self::Swept(shape) => shape != Shape::Follows,
        }
    }
}

/// How every answer of a run came out, in order.
pub(super) fn judged(entries: &[Entry]) -> Vec<Judged> {
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
