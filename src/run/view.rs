//! What whoever answers may see of the run.

use super::request::Token;
use crate::model::prompt::Zone;
use crate::model::vehicle::VehicleState;
use serde::Serialize;

/// What an answerer may see when it is asked.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct View<'a> {
    /// Which question it is.
    pub token: &'a Token,
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
