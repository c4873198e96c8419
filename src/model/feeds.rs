//! Whether something feeds what is measured: a circuit knows.

use super::vehicle::VehicleState;
use std::fmt;
use std::sync::Arc;

/// Tells of two points whether there is a voltage between them with the vehicle as it is; `None` where nobody knows.
type Tells = dyn Fn(&VehicleState, &str, &str) -> Option<bool> + Send + Sync;

/// What a circuit says of it; nothing where there is none.
#[derive(Clone, Default)]
pub struct Feeds(Option<Arc<Tells>>);

impl Feeds {
    /// As this tells.
    pub fn told_by(tells: impl Fn(&VehicleState, &str, &str) -> Option<bool> + Send + Sync + 'static) -> Self {
        Self(Some(Arc::new(tells)))
    }

    /// Whether something feeds what lies between these points.
    pub fn between(&self, vehicle: &VehicleState, one: &str, other: &str) -> Option<bool> {
        self.0.as_ref()?(vehicle, one, other)
    }
}

/// Names are compared, and the same names come from the same circuit.
impl PartialEq for Feeds {
    fn eq(&self, other: &Self) -> bool {
        self.0.is_some() == other.0.is_some()
    }
}

impl fmt::Debug for Feeds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.0.is_some() { "Feeds(circuit)" } else { "Feeds(nothing)" })
    }
}
