//! Who answers: a person, a file, a table row, a bench, an earlier record.

use super::journal::Durability;
use super::notice::Notice;
use super::reply::Reply;
use super::request::Request;
use super::view::View;
use crate::model::answered_by::AnsweredBy;
use crate::model::limits::NoAccuracy;
use crate::model::meter::{Function, Meter};
use crate::model::quantity::Quantity;

/// Who answers, and what hangs on that. It is the same for the whole sitting.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Answering {
    /// What to write into the record.
    pub answered_by: AnsweredBy,
    /// Whether an answer must be on disk before the script goes on.
    pub durability: Durability,
}

impl Answering {
    /// A person is there: what is said is on disk before the script goes on.
    pub const fn in_person(answered_by: AnsweredBy) -> Self {
        Self { answered_by, durability: Durability::Each }
    }

    /// Nobody is there: the same answers come again if they are lost.
    pub const fn unattended(answered_by: AnsweredBy) -> Self {
        Self { answered_by, durability: Durability::AtEnd }
    }
}

/// Whoever answers a procedure's questions.
pub trait Answerer: Send {
    /// Answers.
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply;

    /// Is told.
    fn notice(&mut self, notice: Notice<'_>);
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
