//! Which journal this program writes.

/// Version of the journal's format that is written. A format belongs to a sitting: a record that an older program began goes
/// on in this one.
pub const FORMAT: u32 = 2;
/// The format that records had before there were sittings.
pub const FIRST_FORMAT: u32 = 1;
/// The set of events and fields, how cautions, doubts and verdicts are worked out, and what helpers refuse. Whatever changes one of
/// these raises it. Format 1 counts as 0.
/// Since 2, helpers refuse sizes that there are not, and what can't be (`where since 2` in `electrical`).
pub const BEHAVIOR: u32 = 2;
/// Program and version, as journals name it.
pub const PROGRAM: &str = concat!("ohmwright ", env!("CARGO_PKG_VERSION"));
