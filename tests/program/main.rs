//! The program, as people use it: every test runs the binary in a place of its own.
#![cfg(unix)]

mod language;
mod place;
mod readings;
mod session;
