//! Records on disk.
pub mod error;
