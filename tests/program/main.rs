//! The program, as people use it: every test runs the binary in a place of its own.
#![cfg(unix)]
#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests write files, read them back, and unwrap what they have just made"
)]

mod after_repair;
mod asked;
mod batch;
mod batch_bench;
mod cautions;
mod demo;
mod foreign;
mod guide;
mod hostile;
mod kill;
mod language;
mod layers;
mod links;
mod on_bench;
mod place;
mod plain_names;
mod prompt;
mod prove;
mod readings;
mod session;
mod shared;
mod sheets;
mod shipped;
mod slips;
mod storage;
mod sweeps;
mod tables;
mod terminal;
mod texts;
