//! Who answers: a person, a file, a table row, a bench, an earlier record.

use super::journal::Durability;
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::{AnsweredBy, Entry, NamedCause};
use crate::model::limits::NoAccuracy;
use crate::model::meter::{Function, Meter};
use crate::model::prompt::{Prompt, PromptId, Zone};
use crate::model::quantity::Quantity;
use crate::model::record::SweepReading;
use crate::model::vehicle::{Action, VehicleState};
use std::sync::Arc;

/// What an answerer may see when it is asked.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The step's heading.
    pub step: &'a str,
    /// Where the technician is.
    pub near: &'a [Zone],
    /// Why the step is there, in the author's words.
    pub why: &'a str,
    /// The vehicle.
    pub vehicle: &'a VehicleState,
    /// How many questions were answered before this one.
    pub answered: usize,
}

/// What came back.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Reply {
    /// Text, as typed.
    Text(Arc<str>),
    /// Leave it out.
    Skip {
        /// Why.
        reason: String,
    },
    /// Take the last answer back, or that of a prompt by name.
    Back {
        /// The prompt, if named.
        to: Option<PromptId>,
    },
    /// Put the run down.
    Pause,
    /// Write something down, then ask again.
    Note(String),
    /// Nobody is there to answer.
    Nobody,
}

impl Reply {
    /// Text, as typed.
    pub fn text(text: impl Into<Arc<str>>) -> Self {
        Self::Text(text.into())
    }

    /// Enter, and nothing else: it is done, or stands as it is.
    pub fn enter() -> Self {
        Self::text("")
    }
}

/// How a caution was taken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Acknowledgement {
    /// Read and acknowledged; with the qualified person where one was asked for.
    Read {
        /// The qualified person.
        qualified: Option<String>,
    },
    /// Nobody was there.
    Nobody,
    /// Put the run down instead.
    Pause,
    /// Take the last answer back instead, or that of a prompt by name.
    Back {
        /// The prompt, if named.
        to: Option<PromptId>,
    },
    /// No qualified person can be named: go no further.
    Refused,
}

/// Whoever answers a procedure's questions.
pub trait Answerer: Send {
    /// What to write into the record.
    fn answered_by(&self) -> AnsweredBy;

    /// Whether what is answered from goes on here with a failure of the script: what it was refused then, it is refused again.
    fn failed_here(&self) -> bool {
        false
    }

    /// Whether a person's answer must be on disk before the script goes on.
    fn durability(&self) -> Durability {
        Durability::Each
    }

    /// A step began.
    fn step(&mut self, _view: View<'_>) {}

    /// The author's words on why; they belong to the step.
    fn why(&mut self, _text: &str) {}

    /// Text from the script that is not part of the record.
    fn remark(&mut self, _text: &str) {}

    /// Safety messages, before what they belong to.
    fn caution(&mut self, rules: &[&Rule]) -> Acknowledgement;

    /// What is asked for next is done while this is read: a chance to have the leads put on before it.
    fn prepare(&mut self, _prompt: &Prompt) {}

    /// Something to do at the vehicle. Any text means done.
    fn act(&mut self, action: &Action, view: View<'_>) -> Reply;

    /// A question.
    fn answer(&mut self, prompt: &Prompt, view: View<'_>) -> Reply;

    /// The next reading of a sweep; empty text ends it.
    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], view: View<'_>) -> Reply;

    /// Text that can't be taken. True to ask again, false if there is nobody to ask.
    fn refused(&mut self, problem: &str) -> bool;

    /// Something odd about what was typed; asked once, and the next answer stands. Empty text keeps the first.
    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt, view: View<'_>) -> Reply;

    /// The procedure can't go on with this answer as it is: [`Reply::Back`] to be asked again, any text to let the run end.
    fn needs(&mut self, _id: &PromptId, _why: &str) -> Reply {
        Reply::Nobody
    }

    /// An action is left out, without which the procedure can't go on: [`Reply::Back`] to be asked for it again, any text to let
    /// the run end.
    fn left_out(&mut self) -> Reply {
        Reply::enter()
    }

    /// The procedure is about to name what it concludes: [`Reply::Back`] to take an answer back, any text to let it stand.
    fn concludes(&mut self, _causes: &[NamedCause]) -> Reply {
        Reply::enter()
    }

    /// A wait is said to be over so many seconds after it was asked for, before its time. True where that is asked about; who
    /// only answers what was written down waits for nothing.
    fn cut_short(&mut self, _seconds: u64) -> bool {
        false
    }

    /// An entry went into the journal, or was read from it.
    fn recorded(&mut self, _entry: &Entry, _replayed: bool) {}

    /// The journal is read to its end: from here on, things are asked.
    fn live(&mut self) {}

    /// The vehicle as the record left it, on taking up again: confirmed, corrected, or `None` to put the run down.
    fn confirm_vehicle(&mut self, left: &VehicleState) -> Option<VehicleState> {
        Some(left.clone())
    }

    /// Whether the vehicle is to be confirmed after taking back though nothing was done at it since.
    fn confirms_again(&self) -> bool {
        false
    }

    /// Whether the vehicle is brought back to how it stood when what is asked again was asked first.
    fn brings_back(&self) -> bool {
        true
    }

    /// Whether this was a part of the way back: older records have less of it.
    fn went_back_by(&self, _action: &Action) -> bool {
        true
    }

    /// Whether the starter stops turning while an answer is taken back: in older records it turned on.
    fn starter_rests(&self) -> bool {
        true
    }

    /// Whether an action that waited for its reading was done although the run ended before it: so in older records.
    fn did_pending_action(&self, _action: &Action) -> bool {
        false
    }

    /// What was found odd about the answer when it was recorded: what is asked about changes from version to version.
    fn doubted_then(&self, _id: &PromptId) -> Option<Doubt> {
        None
    }

    /// Whether everything is doubted that is found odd today: older records were not asked about all of it.
    fn is_asked_every_doubt(&self) -> bool {
        true
    }

    /// Whether somebody looked at the vehicle before it was confirmed.
    fn vehicle_was_seen(&self) -> bool {
        false
    }

    /// The last answer was taken from an earlier record.
    fn carried(&self) -> bool {
        false
    }
}

/// What is known of the meter's accuracy.
#[derive(Clone, Debug, Default)]
pub struct MeterInUse {
    meter: Option<Meter>,
    /// Why nothing can be built on its figures, if so.
    unsettled: Option<NoAccuracy>,
}

impl MeterInUse {
    /// A meter whose figures count.
    pub const fn new(meter: Meter) -> Self {
        Self { meter: Some(meter), unsettled: None }
    }

    /// A simulated circuit's own meter: always within its promise.
    pub const fn of_bench(meter: Meter) -> Self {
        Self::new(meter)
    }

    /// A meter on whose figures nothing can be built, and why.
    pub const fn unsettled(meter: Meter, why: NoAccuracy) -> Self {
        Self { meter: Some(meter), unsettled: Some(why) }
    }

    /// Why nothing can be built on its figures, if so.
    pub const fn why_unsettled(&self) -> Option<NoAccuracy> {
        self.unsettled
    }

    /// The meter.
    pub const fn meter(&self) -> Option<&Meter> {
        self.meter.as_ref()
    }

    /// The worst case for this reading, or why nobody knows.
    pub fn accuracy(&self, function: Function, reading: Quantity) -> Result<Quantity, NoAccuracy> {
        let meter = self.meter.as_ref().ok_or(NoAccuracy::NoMeter)?;
        if let Some(why) = self.unsettled {
            return Err(why);
        }
        meter.range_for(function, reading).map(|range| range.worst_case(reading)).ok_or(NoAccuracy::NoRange)
    }
}
