//! How a run is left: the way back at every ending, and the starter's rest.
pub(super) mod leave;
mod starter;
