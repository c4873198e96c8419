//! The trade's arithmetic: pure functions over quantities, each with its formula, range and published source.
pub mod age;
pub mod door;
pub mod error;
pub mod reference;
pub mod results;
pub mod travel;

pub mod accuracy;
pub mod battery;
pub mod code;
pub mod coil;
pub mod drop;
pub mod helper;
pub mod network;
pub mod ohm;
pub mod pulse;
pub mod ratiometric;
pub mod rtd;
pub mod sweep;
pub mod thermistor;
pub mod thermocouple;
pub mod uncertainty;
pub mod wire;
pub mod wire_tables;
