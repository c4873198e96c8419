//! The parts that a circuit is made of.
pub(super) mod kinds;
pub mod part;
