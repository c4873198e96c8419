//! The shop's folder, and what one does there, as calls that return data and print nothing.
#![expect(clippy::disallowed_methods, reason = "the shop's files, the clock and the environment are read here")]
pub mod answers;
pub mod batch;
pub mod begin;
pub mod builtin;
pub mod circuits;
pub mod clock;
pub mod error;
pub mod examine;
pub mod first_line;
pub mod folder;
pub mod job_file;
pub mod loaded;
pub mod material;
pub mod meters;
pub mod people;
pub mod rejudge;
pub mod resume;
pub mod settings;
pub mod sign;
pub mod simulated;
pub mod station;
pub mod table;
pub mod text_file;
pub mod vehicle_state;
pub mod verify;
pub mod workers;
