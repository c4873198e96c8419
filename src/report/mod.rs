//! Pure text from a record or a diagnostic.
pub mod diagnostic;
pub mod entry;
pub mod proof;
pub mod record;
pub mod table;
