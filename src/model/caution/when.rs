//! When a caution's rule is true.

use crate::model::prompt::Zone;
use crate::model::vehicle::method::Method;
use crate::model::vehicle::{Battery, Engine, HighVoltage, Key, Lift, VehicleState, Wheels};
use serde::{Deserialize, Serialize};

/// When a rule is true. Each list that is given must hold the state; an unknown state is in every list.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct When {
    /// The step is near one of these.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<Zone>,
    /// Key.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub key: Vec<Key>,
    /// Engine.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub engine: Vec<Engine>,
    /// The engine runs, or stopped less than this many minutes ago, or nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub engine_hot_minutes: Option<u32>,
    /// Lift.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lift: Vec<Lift>,
    /// Wheels.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wheels: Vec<Wheels>,
    /// Battery.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub battery: Vec<Battery>,
    /// High voltage.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub high_voltage: Vec<HighVoltage>,
    /// The hands are about to do one of these.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub methods: Vec<Method>,
    /// Something feeds what is measured, as the circuit says. Where no circuit knows it: the key is on, or nobody knows.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub fed: bool,
}

/// Everything that a rule looks at.
#[derive(Clone, Copy, Debug)]
pub struct Circumstances<'a> {
    /// Where the body is.
    pub zones: &'a [Zone],
    /// The circuit does not say what lies near the place: every zone counts.
    pub anywhere: bool,
    /// The vehicle.
    pub vehicle: &'a VehicleState,
    /// The methods of the next action or reading.
    pub method: Option<Method>,
    /// Now, in minutes since the epoch.
    pub minute: i64,
    /// Whether something feeds what is measured; `None` where no circuit knows it.
    pub fed: Option<bool>,
}

impl When {
    /// Whether the body is in one of its zones.
    pub fn is_near(&self, now: Circumstances<'_>) -> bool {
        // Nothing has a high-voltage part near it in a vehicle that has none.
        let may_be = |zone: &Zone| zone.as_str() != "high_voltage" || now.vehicle.high_voltage != HighVoltage::Absent;
        self.zones.iter().any(|zone| now.zones.contains(zone) || now.anywhere && may_be(zone))
    }

    /// Whether the hazard is there.
    pub fn holds(&self, now: Circumstances<'_>) -> bool {
        fn listed<T: PartialEq + Default>(list: &[T], state: &T) -> bool {
            list.is_empty() || *state == T::default() || list.contains(state)
        }
        let zone = self.zones.is_empty() || self.is_near(now);
        let method = self.methods.is_empty() || now.method.is_some_and(|method| self.methods.contains(&method));
        let hot = self.engine_hot_minutes.is_none_or(|minutes| is_hot(now, minutes));
        let vehicle = now.vehicle;
        let keyed = || listed(&[Key::On, Key::Accessory], &vehicle.key);
        zone && method
            && (!self.fed || now.fed.unwrap_or_else(keyed))
            && hot
            && listed(&self.key, &vehicle.key)
            && listed(&self.engine, &vehicle.engine)
            && listed(&self.lift, &vehicle.lift)
            && listed(&self.wheels, &vehicle.wheels)
            && listed(&self.battery, &vehicle.battery)
            && listed(&self.high_voltage, &vehicle.high_voltage)
    }
}

/// Running, stopped less than `minutes` ago, or nobody knows. A clock that ran backward counts as hot, and so does a minute
/// before all reckoning: nobody can have looked at a clock then.
fn is_hot(now: Circumstances<'_>, minutes: u32) -> bool {
    match (now.vehicle.engine, now.vehicle.engine_stopped_at) {
        (Engine::Running | Engine::Unknown, _) | (_, None) => true,
        (_, Some(stopped)) => stopped < 0 || now.minute.saturating_sub(stopped) < i64::from(minutes),
    }
}
