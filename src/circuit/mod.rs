//! A vehicle's circuit: points, parts and faults from a file, the direct-current solution in each state of the vehicle, and
//! what a meter or a control module shows of it.
mod alternating;
pub mod bench;
mod bench_alternating;
mod bench_time;
mod clock;
mod complex;
mod curve;
mod decode;
pub mod effect;
mod element;
pub mod error;
pub mod fault;
pub mod file;
mod follow;
pub mod fuse_check;
pub mod gauge;
mod matrix;
pub mod memory;
pub mod meter;
pub mod movement;
pub mod names;
pub mod netlist;
mod network;
mod network_builder;
pub mod nodes;
#[cfg(test)]
mod oracle;
pub mod parts;
pub mod point;
mod prepared;
pub mod sample;
mod settle;
pub mod signal;
pub mod solution;
pub mod solver;
mod span;
pub mod spice;
