//! Proving: a procedure against a simulated circuit, healthy and with each fault put in.
pub mod answers;
mod came;
mod case;
pub mod counted;
pub mod course;
mod judge;
mod margins;
mod mask;
mod pairs;
mod plant;
pub mod proving;
mod slips;
mod tally;
pub mod watch;
mod whole;
