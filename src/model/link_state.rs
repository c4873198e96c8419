//! How a record stands against the digest that another one names it by.

/// How a linked record stands against the digest that the link has.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LinkState {
    /// Every byte is as it was.
    Same,
    /// As it was, and lines were added since.
    Continued,
    /// Not what it was.
    Changed,
}
