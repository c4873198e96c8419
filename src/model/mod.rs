//! Values: what a reading, a limit, a caution, an event is. Knows no other folder and does no input or output.
pub mod dimension;
pub mod electrical;
pub mod meter;
pub mod quantity;
pub mod unit;
pub mod vehicle;
