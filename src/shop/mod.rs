//! The shop's folder, and what one does there.
pub mod error;
