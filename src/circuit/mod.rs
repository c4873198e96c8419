//! A vehicle's circuit: points, parts and faults from a file, the direct-current solution in each state of the vehicle, and
//! what a meter or a control module shows of it.
pub mod bench;
mod curve;
mod decode;
pub mod effect;
mod element;
pub mod error;
pub mod fault;
pub mod file;
pub mod fuse_check;
pub mod gauge;
mod matrix;
pub mod meter;
pub mod movement;
pub mod names;
pub mod netlist;
mod network;
mod network_builder;
pub mod nodes;
mod nominal;
pub mod parts;
pub mod point;
mod prepared;
pub mod sample;
pub mod signal;
pub mod solution;
pub mod solver;
pub mod spice;
