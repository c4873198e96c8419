//! What an action would put back, as it is now.

use super::{Action, VehicleState};

impl Action {
    /// The state that it would put back: `key ON`, `C41 unplugged`.
    pub fn left_words(&self, vehicle: &VehicleState) -> String {
        let plain = |name: &str| name.replace('_', " ");
        let stands = |part: &String| {
            format!("{} {}", plain(part), vehicle.positions.get(part).map_or_else(String::new, |at| plain(at)))
        };
        match self {
            Self::TurnKey { .. } => format!("key {}", vehicle.key.to_string().to_uppercase()),
            Self::StopEngine => format!("engine {}", vehicle.engine),
            Self::MoveLift { .. } => format!("vehicle {}", vehicle.lift),
            Self::SecureWheels { .. } => format!("wheels {}", vehicle.wheels),
            Self::Plug { connector } => format!("{} unplugged", plain(connector)),
            Self::PutBack { part } => format!("{} out", plain(part)),
            Self::MoveBatteryCable { .. } => "battery cable off".to_owned(),
            Self::Release { part } | Self::Hold { part, .. } => stands(part),
            Self::Disconnect { from, to } => format!("{} joined to {}", plain(from), plain(to)),
            Self::Connect { jumper } => format!("{} parted from {}", plain(&jumper.from), plain(&jumper.to)),
            Self::TakeLeadsOff { socket: true } => "red lead in the A socket".to_owned(),
            Self::TakeLeadsOff { socket: false } => "meter leads on".to_owned(),
            other => format!("not done: {other}"),
        }
    }
}
