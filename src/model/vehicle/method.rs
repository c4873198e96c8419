//! Methods: the kinds of work that cautions speak of.

use serde::{Deserialize, Serialize};

/// The methods of the next action or reading.
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
    /// A jumper or a substitute load taken away.
    Disconnect,
    /// The battery's cable taken off.
    BatteryOff,
    /// A load tester put on or taken off, or in use.
    LoadTester,
    /// Something warmed with hot air.
    HotAir,
}

impl Method {
    /// Every method.
    pub const ALL: [Self; 19] = [
        Self::Volts,
        Self::Ohms,
        Self::Amperes,
        Self::Diode,
        Self::OtherReading,
        Self::KeyOn,
        Self::StartEngine,
        Self::Crank,
        Self::MoveLift,
        Self::Unplug,
        Self::Plug,
        Self::HandlePart,
        Self::BatteryCable,
        Self::MoveByHand,
        Self::Connect,
        Self::Disconnect,
        Self::BatteryOff,
        Self::LoadTester,
        Self::HotAir,
    ];

    /// Its name, as rules and procedures write it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Volts => "volts",
            Self::Ohms => "ohms",
            Self::Amperes => "amperes",
            Self::Diode => "diode",
            Self::OtherReading => "other_reading",
            Self::KeyOn => "key_on",
            Self::StartEngine => "start_engine",
            Self::Crank => "crank",
            Self::MoveLift => "move_lift",
            Self::Unplug => "unplug",
            Self::Plug => "plug",
            Self::HandlePart => "handle_part",
            Self::BatteryCable => "battery_cable",
            Self::MoveByHand => "move_by_hand",
            Self::Connect => "connect",
            Self::Disconnect => "disconnect",
            Self::BatteryOff => "battery_off",
            Self::LoadTester => "load_tester",
            Self::HotAir => "hot_air",
        }
    }

    /// Whether somebody has to go to the circuit for it, and may have moved a lead there.
    pub const fn moves_a_lead(self) -> bool {
        matches!(
            self,
            Self::Unplug
                | Self::Plug
                | Self::HandlePart
                | Self::BatteryCable
                | Self::BatteryOff
                | Self::Connect
                | Self::Disconnect
        )
    }

    /// The method of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|method| method.name() == name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_method_is_named_as_it_is_written() {
        for method in Method::ALL {
            assert_eq!(serde_json::to_string(&method).unwrap(), format!("\"{}\"", method.name()));
            assert_eq!(Method::named(method.name()), Some(method));
        }
        assert_eq!(Method::named("shrug"), None);
    }
}
