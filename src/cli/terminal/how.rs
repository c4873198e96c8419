//! How a line is read.

/// How a line is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// Earlier input counts.
    AsItComes,
    /// Earlier input is ignored and counted.
    Fresh,
    /// As it comes; pasted lines become one.
    Joined,
}
