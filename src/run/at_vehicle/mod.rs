//! At the vehicle: the way back at every ending, the starter's rest, waits, and an answer that is changed.
mod change;
pub(super) mod keeping;
pub(super) mod leave;
mod starter;
pub(super) mod wait;
