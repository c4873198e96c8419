//! Watches for hazards: a caution comes when its hazard becomes true, not at every step.

use crate::model::caution::{CautionRules, Circumstances, Method, Rule};
use crate::model::prompt::Zone;
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;

/// Which rules were told and still hold.
#[derive(Clone, Debug, Default)]
pub struct Watch {
    told: BTreeSet<usize>,
    /// The number of the step in which it was told.
    step: usize,
    /// What was looked at last: as long as it stays, nothing becomes true and nothing ceases to be.
    last: Option<(Vec<Zone>, Option<VehicleState>, VehicleState, Vec<Method>, i64)>,
}

impl Watch {
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
        methods: &[Method],
        minute: i64,
    ) -> Vec<&'a Rule> {
        let before = (before != vehicle).then_some(before);
        if self.last.as_ref().is_some_and(|(last_zones, last_before, last_vehicle, last_methods, last_minute)| {
            *last_minute == minute
                && last_zones == zones
                && last_methods == methods
                && last_vehicle == vehicle
                && last_before.as_ref() == before
        }) {
            return Vec::new();
        }
        self.last = Some((zones.to_vec(), before.cloned(), vehicle.clone(), methods.to_vec(), minute));
        let mut newly = Vec::new();
        for (index, rule) in rules.rules.iter().enumerate() {
            let holds = |method: Option<Method>| {
                let with = |vehicle| rule.when.holds(Circumstances { zones, vehicle, method, minute });
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
