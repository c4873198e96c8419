//! The targets of the ordinary tests, built once for all the programs.

#[path = "../../tests/fuzzed/targets.rs"]
pub mod targets;
