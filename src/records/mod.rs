//! Records on disk: their folder, a run's own folder and its lock, journals and what their signatures say, digests, kept
//! sources, links, packs, and records in short.
#![expect(clippy::disallowed_methods, reason = "records lie on disk")]
pub mod bounded;
pub mod chain;
pub mod damage;
pub mod digest;
pub mod error;
pub mod format1;
pub mod journal_file;
pub mod latest;
pub mod line;
pub mod links;
pub mod numbers;
pub mod pack;
mod same_file;
pub mod store;
pub mod summary;
pub mod table_name;
pub mod whole_file;
