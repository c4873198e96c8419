//! The program, as people use it: every test runs the binary in a place of its own.
#![cfg(unix)]
#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests write files, read them back, and unwrap what they have just made"
)]

mod ac_and_numbers;
mod after_repair;
mod asked;
mod at_vehicle;
mod batch;
mod batch_bench;
mod bench_memory;
mod bounds;
mod cautions;
mod demo;
mod doubts;
mod edited;
mod foreign;
mod guide;
mod header;
mod hostile;
mod house;
mod keys;
mod kill;
mod kinds_of_prompts;
mod language;
mod latest;
mod layers;
mod left_over;
mod libraries;
mod links;
mod meters;
mod named;
mod numbers;
mod older_helpers;
mod on_bench;
mod pausing;
mod place;
mod plain_names;
mod prompt;
mod prove;
mod proven;
mod readings;
mod session;
mod shared;
mod sheets;
mod shipped;
mod shipped_cranking;
mod shipped_readings;
mod slips;
mod stops;
mod storage;
mod sweeps;
mod tables;
mod terminal;
mod terminal_keys;
mod texts;
mod time_passes;
mod undo;
mod undo_sweeps;
mod unlike_things;
mod vehicle_again;
mod whole_run;
