//! Watches for hazards: a caution comes when its hazard becomes true, not at every step.

use crate::model::caution::{CautionRules, Circumstances, Method, Rule};
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

/// What the rules were held against.
#[derive(Clone, PartialEq, Debug)]
struct Look {
    minute: i64,
    zones: Vec<Zone>,
    methods: Vec<Method>,
    /// The vehicle, where an action will leave it otherwise.
    before: Option<VehicleState>,
    vehicle: VehicleState,
}

impl Look {
    fn is_at(
        &self,
        minute: i64,
        zones: &[Zone],
        methods: &[Method],
        before: Option<&VehicleState>,
        vehicle: &VehicleState,
    ) -> bool {
        self.minute == minute
            && self.zones == zones
            && self.methods == methods
            && self.vehicle == *vehicle
            && self.before.as_ref() == before
    }
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
        methods: &[Method],
        minute: i64,
    ) -> Vec<&'a Rule> {
        let before = (before != vehicle).then_some(before);
        if self.last.as_ref().is_some_and(|last| last.is_at(minute, zones, methods, before, vehicle)) {
            return Vec::new();
        }
        self.last = Some(Look {
            minute,
            zones: zones.to_vec(),
            methods: methods.to_vec(),
            before: before.cloned(),
            vehicle: vehicle.clone(),
        });
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
