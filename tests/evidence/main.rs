//! What could still be wrong: the truth is never lost, and what is excluded is excluded by the readings alone.
#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    reason = "tests read files, run the program and print what they counted"
)]
#![expect(clippy::unwrap_used, reason = "helpers of tests")]
mod laws;
mod order;
mod recorded;
mod truth;
mod vehicles;
