//! Watches for hazards: a caution comes when its hazard becomes true, not at every step.

use crate::model::caution::{CautionRules, Circumstances, Rule};
use crate::model::method::Method;
use crate::model::prompt::Zone;
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;

/// Which rules were told and still hold.
#[derive(Clone, Debug, Default)]
pub struct CautionMonitor {
    told: BTreeSet<usize>,
    /// The number of the step in which it was told.
    step: usize,
    /// What was looked at last: as long as it stays, nothing becomes true and nothing ceases to be.
    last: Option<Look>,
}

/// What the hands are about to do, and when.
#[derive(Clone, Copy, Debug)]
pub struct About<'a> {
    /// The methods of it.
    pub methods: &'a [Method],
    /// Whether something feeds what is measured; `None` where no circuit knows it.
    pub fed: Option<bool>,
    /// Now, in minutes since the epoch.
    pub minute: i64,
}

/// What the rules were held against.
#[derive(Clone, PartialEq, Debug)]
struct Look {
    minute: i64,
    zones: Vec<Zone>,
    methods: Vec<Method>,
    fed: Option<bool>,
    /// The vehicle, where an action will leave it otherwise.
    before: Option<VehicleState>,
    vehicle: VehicleState,
}

impl CautionMonitor {
    /// The step with this number begins: what belongs to a method is told again in a new place, and not in the same one
    /// when it is come to once more.
    pub fn begin_step(&mut self, rules: &CautionRules, step: usize) {
        if std::mem::replace(&mut self.step, step) == step {
            return;
        }
        self.told.retain(|index| rules.rules.get(*index).is_some_and(|rule| rule.when.methods.is_empty()));
        self.last = None;
    }

    /// The rules whose hazard becomes true now, with the vehicle as an action will leave it; they count as told from here on.
    /// What belongs to a method is looked at with the vehicle as it is before it, too: a lift is lowered from where it is up.
    pub fn newly_true<'a>(
        &mut self,
        rules: &'a CautionRules,
        zones: &[Zone],
        before: &VehicleState,
        vehicle: &VehicleState,
        About { methods, fed, minute }: About<'_>,
    ) -> Vec<&'a Rule> {
        let before = (before != vehicle).then_some(before);
        let is_at = |last: &Look| {
            last.minute == minute
                && last.zones == zones
                && last.methods == methods
                && last.fed == fed
                && last.vehicle == *vehicle
                && last.before.as_ref() == before
        };
        if self.last.as_ref().is_some_and(is_at) {
            return Vec::new();
        }
        self.last = Some(Look {
            minute,
            zones: zones.to_vec(),
            methods: methods.to_vec(),
            fed,
            before: before.cloned(),
            vehicle: vehicle.clone(),
        });
        let mut newly = Vec::new();
        for (index, rule) in rules.rules.iter().enumerate() {
            let holds = |method: Option<Method>| {
                let with = |vehicle| rule.when.holds(Circumstances { zones, vehicle, method, minute, fed });
                with(vehicle) || (method.is_some() && before.is_some_and(with))
            };
            let now = if methods.is_empty() { holds(None) } else { methods.iter().any(|method| holds(Some(*method))) };
            // A rule about a method stays told while its place and state last, between one reading and the next.
            let lasts =
                now || (!rule.when.methods.is_empty() && rule.when.methods.iter().any(|method| holds(Some(*method))));
            if now && self.told.insert(index) {
                newly.push(rule);
            } else if !lasts {
                self.told.remove(&index);
            }
        }
        newly
    }

    /// These were told and not read: where they still hold, they are told again.
    pub fn untell(&mut self, all: &CautionRules, rules: &[&Rule]) {
        self.told
            .retain(|index| all.rules.get(*index).is_some_and(|told| !rules.iter().any(|rule| rule.id == told.id)));
        self.last = None;
    }

    /// Forgets what was told: after a pause, what holds is told again.
    pub fn forget(&mut self) {
        self.told.clear();
        self.last = None;
    }
}
