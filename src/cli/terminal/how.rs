//! How a line is read.

/// How a line is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// What was typed before counts.
    AsItComes,
    /// What was typed before is ignored, and counted.
    Fresh,
    /// As it comes; pasted lines become one.
    Joined,
}
