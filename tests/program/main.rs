//! The program, as people use it: every test runs the binary in a place of its own.
#![cfg(unix)]

mod after_repair;
mod batch;
mod cautions;
mod language;
mod place;
mod readings;
mod session;
