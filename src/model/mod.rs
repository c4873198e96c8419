//! Values: what a reading, a limit, a caution, an event is. Knows no other folder and does no input or output.
pub mod caution;
pub mod diagnostic;
pub mod dimension;
pub mod event;
pub mod job;
pub mod limits;
pub mod meter;
pub mod points;
pub mod prompt;
pub mod quantity;
pub mod record;
pub mod shop;
pub mod sweep;
pub mod typed;
pub mod unit;
pub mod vehicle;
pub mod words;
