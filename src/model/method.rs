//! What the hands are about to do, as caution rules name it.

use serde::{Deserialize, Serialize};

/// What the hands are about to do.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Voltage measured.
    Volts,
    /// Resistance measured.
    Ohms,
    /// Current measured.
    Amperes,
    /// Diode test.
    Diode,
    /// Any other meter function.
    OtherReading,
    /// The key turned on.
    KeyOn,
    /// The engine started.
    StartEngine,
    /// The engine cranked.
    Crank,
    /// The vehicle raised or lowered.
    MoveLift,
    /// A connector taken apart.
    Unplug,
    /// A connector put together.
    Plug,
    /// A fuse or relay taken out or put back.
    HandlePart,
    /// The battery's cable taken off or put back.
    BatteryCable,
    /// Something moved by hand, or held.
    MoveByHand,
    /// A jumper or a substitute load put in place.
    Connect,
}
