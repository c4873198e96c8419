//! Networks of straight pieces in a set of contacts, and where they come to rest.
pub(super) mod alternating;
pub(super) mod clock;
pub(super) mod complex;
pub(super) mod edges;
pub(super) mod element;
pub(super) mod follow;
pub(super) mod matrix;
pub(super) mod network;
pub(super) mod network_builder;
#[cfg(test)]
pub(super) mod oracle;
pub(super) mod path;
pub(super) mod prepared;
pub(super) mod settle;
pub(super) mod span;
pub(super) mod swings;
