//! What is asked of whoever answers, and which replies fit.

use super::reply::Form;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::NamedCause;
use crate::model::id::RecordId;
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::given::SweepReading;
use crate::model::vehicle::{Action, VehicleState};
use serde::{Deserialize, Serialize};

/// Which question a reply is for: of this record, before this line of its journal was written.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Token {
    /// The record's own id; none in a record that format 1 began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<RecordId>,
    /// The next line of the journal.
    pub line: usize,
    /// How many other questions were asked before that line: a wait that is cut short is asked about at the same line.
    #[serde(default, skip_serializing_if = "is_first")]
    pub turn: u32,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
const fn is_first(turn: &u32) -> bool {
    *turn == 0
}

/// One thing that is asked. It borrows, and only serializes: a proof allocates nothing for it.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(tag = "request", rename_all = "snake_case")]
pub enum Request<'a> {
    /// Safety messages to read, before what they belong to.
    Caution {
        /// Them.
        rules: &'a [&'a Rule],
    },
    /// Something to do at the vehicle. Any text means done.
    Act {
        /// What.
        action: &'a Action,
    },
    /// A line of the way back, before the run ends or is put down. Any text means done; skipped, it stays open, and the next
    /// line comes. Anything else leaves the rest open.
    PutBack {
        /// What puts it back.
        action: &'a Action,
    },
    /// A question.
    Answer {
        /// Which.
        prompt: &'a Prompt,
    },
    /// The next reading of a sweep. Empty text ends it.
    NextOfSweep {
        /// The sweep.
        prompt: &'a Prompt,
        /// Its readings so far.
        so_far: &'a [SweepReading],
    },
    /// Something odd about what was typed. Another answer is looked at anew; the same one stands. Empty text keeps the first.
    Doubt {
        /// The question.
        prompt: &'a Prompt,
        /// What was typed.
        typed: &'a str,
        /// What is odd.
        doubt: &'a Doubt,
    },
    /// The procedure can't go on with this answer as it is. [`Form::Back`] asks for it again, any text ends the run.
    Needs {
        /// The answer's prompt.
        id: &'a PromptId,
        /// Why not.
        why: &'a str,
    },
    /// The procedure can't go on without this action. [`Form::Back`] asks for it again, any text ends the run.
    LeftOut {
        /// What was left out.
        action: &'a Action,
    },
    /// The procedure is about to name what it concludes. [`Form::Back`] takes an answer back, any text lets it stand.
    Conclude {
        /// The causes.
        causes: &'a [NamedCause],
    },
    /// A wait is said to be over before its time. Any text says once more that it is over; [`Form::Nobody`] says that nobody
    /// waits here at all, as where the answers were written down.
    WaitCutShort {
        /// The wait.
        action: &'a Action,
        /// After so many seconds.
        seconds: u64,
    },
    /// The vehicle as the record left it. [`Form::Vehicle`] confirms or corrects it; [`Form::Nobody`] leaves it as it is, and
    /// the record says that nobody looked.
    ConfirmVehicle {
        /// As the record left it.
        left: &'a VehicleState,
    },
}

impl Request<'_> {
    /// Whether a reply of this form fits. Any other is refused, and it is asked again.
    pub const fn takes(&self, form: &Form) -> bool {
        match form {
            Form::Pause | Form::Nobody => true,
            Form::Text(_) => !matches!(self, Self::Caution { .. } | Self::ConfirmVehicle { .. }),
            Form::Back { .. } => !matches!(self, Self::ConfirmVehicle { .. } | Self::PutBack { .. }),
            Form::Change { .. } => matches!(
                self,
                Self::Act { .. }
                    | Self::Answer { .. }
                    | Self::NextOfSweep { .. }
                    | Self::Doubt { .. }
                    | Self::Conclude { .. }
            ),
            Form::Skip { .. } => self.can_be_skipped(),
            Form::Note(_) => self.can_be_skipped() || matches!(self, Self::Conclude { .. } | Self::Caution { .. }),
            Form::Acknowledged { .. } | Form::Refused => matches!(self, Self::Caution { .. }),
            Form::Vehicle { .. } => matches!(self, Self::ConfirmVehicle { .. }),
            // Somebody takes it first; then it is text.
            Form::Offer(_) => false,
        }
    }

    const fn can_be_skipped(&self) -> bool {
        matches!(
            self,
            Self::Act { .. }
                | Self::PutBack { .. }
                | Self::WaitCutShort { .. }
                | Self::Answer { .. }
                | Self::NextOfSweep { .. }
                | Self::Doubt { .. }
        )
    }

    /// Why a reply of this form does not fit, and what does.
    pub fn why_not(&self, form: &Form) -> String {
        let problem = match form {
            Form::Skip { .. } => return "nothing is asked here that could be skipped".to_owned(),
            Form::Back { .. } => "nothing can be taken back here",
            Form::Change { .. } => "no answer can be changed here",
            Form::Note(_) => "no note can be written here",
            Form::Text(_) => "text is no reply to this",
            Form::Acknowledged { .. } | Form::Refused => "this is no caution",
            Form::Vehicle { .. } => "the vehicle's state is not asked for here",
            Form::Offer(offer) => {
                return format!(
                    "{} {} from {} is only an offer: somebody has to take it first",
                    offer.text, offer.unit, offer.instrument
                );
            }
            Form::Pause | Form::Nobody => "this is no reply",
        };
        let fits = match self {
            Self::Caution { .. } => "say that the caution was read",
            Self::PutBack { .. } => "say that it is done, or skip it",
            Self::Act { .. } | Self::WaitCutShort { .. } => "say that it is done, or skip it and say why",
            Self::Answer { .. } | Self::NextOfSweep { .. } | Self::Doubt { .. } => "answer it, or skip it and say why",
            Self::Needs { .. } => "answer it again, or end the run",
            Self::LeftOut { .. } => "ask for it again, or end the run",
            Self::Conclude { .. } => "let the conclusion stand, or take an answer back",
            Self::ConfirmVehicle { .. } => "confirm or correct how the vehicle stands",
        };
        format!("{problem}: {fits}")
    }

    /// Its name, as it is serialized.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Caution { .. } => "caution",
            Self::Act { .. } => "act",
            Self::PutBack { .. } => "put_back",
            Self::Answer { .. } => "answer",
            Self::NextOfSweep { .. } => "next_of_sweep",
            Self::Doubt { .. } => "doubt",
            Self::Needs { .. } => "needs",
            Self::LeftOut { .. } => "left_out",
            Self::Conclude { .. } => "conclude",
            Self::WaitCutShort { .. } => "wait_cut_short",
            Self::ConfirmVehicle { .. } => "confirm_vehicle",
        }
    }
}
