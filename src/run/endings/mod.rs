//! How a run is left: the way back at every ending, the starter's rest, and waits.
pub(super) mod leave;
mod starter;
pub(super) mod wait;
