//! Which journal this program writes.

/// Version of the journal's format that is written. A format belongs to a sitting: a record that an older program began goes
/// on in this one.
pub const FORMAT: u32 = 2;
/// The format that records had before there were sittings.
pub const FIRST_FORMAT: u32 = 1;
/// The set of events and fields, how cautions, doubts and verdicts are worked out, and what helpers refuse. Whatever changes one of
/// these raises it.
/// Format 1 counts as 0; 2 knows the verdict on a reading that does not rest, has AC volts (`ac_volts`) and numbers that no meter
/// shows (`number`), and asks the circuit, where one is known, whether a part that is measured with ohms is fed. Since 3, helpers
/// refuse sizes that there are not and what can't be (`where since 3` in `electrical`). Since 4, every ending offers the way back
/// (`Acted` with `back` before the end) and writes what stays open (`left_changed`); an action that a question tells to do is
/// `by_question`. A wait may say what it is for (`because`), and begin before the readings that are taken meanwhile (`wait_began`).
/// `changed` strikes an answer and those after it, of which `kept` ones come again.
/// Since 4, a caution is confirmed once and then reminded of (`reminded`), what lies near the place that the leads or hands go to
/// counts, its text's digest is kept, a reply from a pipe confirms nothing, and a dangerous voltage ends the run.
/// The entry that replaces a doubted one is doubted like a first one, and so are more volts than the system has.
pub const BEHAVIOR: u32 = 4;
/// Program and version, as journals name it.
pub const PROGRAM: &str = concat!("ohmwright ", env!("CARGO_PKG_VERSION"));
