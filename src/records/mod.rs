//! Records on disk: their folder, a run's own folder and its lock, journals, digests, kept sources, links, packs.
#![expect(clippy::disallowed_methods, reason = "records lie on disk")]
pub mod digest;
pub mod error;
pub mod journal_file;
pub mod links;
pub mod pack;
mod same_file;
pub mod store;
pub mod table_name;
pub mod whole_file;
