//! At the vehicle: the way back at every ending, the starter's rest, waits, and an answer that is changed.
mod change;
mod keep;
pub(super) mod keeping;
mod leave;
pub(super) mod phase;
mod starter;
mod take_back;
pub(super) mod undo;
pub(super) mod wait;
mod way;
