//! Proving: a procedure against a simulated circuit, healthy and with each fault put in.
mod came;
mod case;
mod judge;
mod margins;
mod pairs;
pub mod proving;
mod tally;
mod whole;
