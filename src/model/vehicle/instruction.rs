//! An action as an instruction to the technician.

use super::{Action, Battery, Jumper, Key, Lift, Wheels};
use std::fmt;

impl fmt::Display for Action {
    /// As an instruction.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TurnKey { to: Key::Off } => f.write_str("Turn the key off"),
            Self::TurnKey { to: Key::On } => f.write_str("Turn the key on, engine not running"),
            Self::TurnKey { to } => write!(f, "Turn the key to {to}"),
            Self::StartEngine => f.write_str("Start the engine and let it run"),
            Self::Crank => f.write_str("Crank the engine, read the meter, and let go of the key: 15 s at most"),
            Self::StopEngine => f.write_str("Stop the engine"),
            Self::MoveLift { to: Lift::Raised } => f.write_str("Raise the vehicle and set its supports"),
            Self::MoveLift { .. } => f.write_str("Lower the vehicle to the floor"),
            Self::SecureWheels { to: Wheels::Chocked } => {
                f.write_str("Chock the wheels, gear in neutral or park, brake on")
            }
            Self::SecureWheels { .. } => f.write_str("Take the chocks away"),
            Self::Unplug { connector } => write!(f, "Unplug {connector}"),
            Self::Plug { connector } => write!(f, "Plug {connector} in again"),
            Self::TakeOut { part } => write!(f, "Take {part} out"),
            Self::PutBack { part } => write!(f, "Put {part} back"),
            Self::MoveBatteryCable { to: Battery::Connected } => {
                f.write_str("Put the negative cable back on the battery")
            }
            Self::MoveBatteryCable { .. } => {
                f.write_str("Take the negative cable off the battery; the positive stays on")
            }
            Self::Hold { part, position } => write!(f, "Set {part} to {position} and leave it"),
            Self::Release { part } => write!(f, "Let go of {part}, or switch it back"),
            Self::Connect { jumper: Jumper { from, to, through: Some(resistance) } } => {
                write!(f, "Connect {from} to {to} through {resistance}")
            }
            Self::Connect { jumper } => write!(f, "Connect {} to {} with a jumper wire", jumper.from, jumper.to),
            Self::Disconnect { from, to } => write!(f, "Remove the jumper between {from} and {to}"),
            Self::Wait { time, because: None } => write!(f, "Wait {time}"),
            Self::Wait { time, because: Some(because) } => write!(f, "Wait {time}: {}", because.reason()),
            Self::TakeLeadsOff { socket: false } => f.write_str("Take the meter's leads off"),
            Self::TakeLeadsOff { socket: true } => {
                f.write_str("Take the meter's leads off, and put the red lead back into the V socket")
            }
            Self::CarryOut { text, .. } => f.write_str(text),
        }
    }
}
