//! The language: the only folder that names the script engine.
pub mod bindings;
pub mod check;
pub mod complete;
pub mod console;
pub mod console_bench;
pub mod context;
pub mod diagnose;
pub mod engine;
pub mod execute;
pub mod header;
pub mod help;
pub mod helpers;
pub mod judge;
pub mod place;
pub mod procedure;
pub mod prove;
mod words;
