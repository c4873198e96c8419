//! Watches for hazards: a caution comes when its hazard becomes true, not at every step.

use crate::model::caution::signal_word::Confirm;
use crate::model::caution::when::Circumstances;
use crate::model::caution::{CautionRules, Rule};
use crate::model::points::Nearby;
use crate::model::prompt::{CautionId, Leads, Zone};
use crate::model::vehicle::method::Method;
use crate::model::vehicle::{STATE_PARTS, VehicleState};
use std::collections::BTreeSet;

/// Which rules were told and still hold, and which were confirmed.
#[derive(Clone, Debug, Default)]
pub struct CautionMonitor {
    told: BTreeSet<usize>,
    /// Those that somebody confirmed, each with its place where it is confirmed by place.
    confirmed: BTreeSet<(usize, String)>,
    /// Those about the meter in the line and the starter that were confirmed with the leads as they lie.
    confirmed_with_leads: BTreeSet<usize>,
    /// How the leads lay last.
    leads: Option<Leads>,
    /// Which parts of the vehicle's state were known when it was looked at last.
    known: Option<Vec<bool>>,
    /// The number of the step in which it was told.
    step: usize,
    /// The last look: while nothing of it changes, no hazard comes or goes.
    last: Option<Look>,
    /// The same of behavior 4.
    last_reading: Option<ReadingLook>,
}

/// How a rule is told now.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Telling {
    /// All of it, to be confirmed where its word wants that.
    Whole,
    /// One line: it was confirmed before.
    Reminder,
}

/// Where the hands are, and what they are about to do.
#[derive(Clone, Copy, Debug)]
pub struct Hands<'a> {
    /// The zones of the step.
    pub near: &'a [Zone],
    /// What lies near the places that leads or hands go to.
    pub nearby: &'a Nearby,
    /// What they do.
    pub methods: &'a [Method],
    /// Nobody knows what they do: whatever rules of the zones speak of.
    pub any_method: bool,
    /// It is something done at the vehicle, not a question.
    pub acts: bool,
    /// Where the leads go, where they go anywhere.
    pub leads: Option<&'a Leads>,
    /// Whether something feeds what is measured; `None` where no circuit knows it.
    pub fed: Option<bool>,
    /// Now, in minutes since the epoch.
    pub minute: i64,
}

/// The next methods and their time, as records up to behavior 3 have them.
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

/// The last look at a question that does nothing at the vehicle.
#[derive(Clone, PartialEq, Debug)]
struct ReadingLook {
    minute: i64,
    near: Vec<Zone>,
    nearby: Nearby,
    methods: Vec<Method>,
    any_method: bool,
    fed: Option<bool>,
    vehicle: VehicleState,
}

impl ReadingLook {
    fn is_at(&self, vehicle: &VehicleState, hands: &Hands<'_>) -> bool {
        self.minute == hands.minute
            && self.near == hands.near
            && self.nearby == *hands.nearby
            && self.methods == hands.methods
            && self.any_method == hands.any_method
            && self.fed == hands.fed
            && self.vehicle == *vehicle
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
        self.last_reading = None;
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
                let with =
                    |vehicle| rule.when.holds(Circumstances { zones, anywhere: false, vehicle, method, minute, fed });
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

    /// The rules whose hazard becomes true now, worst first, each with what is told of it. They count as confirmed from here on.
    pub fn tell<'a>(
        &mut self,
        rules: &'a CautionRules,
        before: &VehicleState,
        vehicle: &VehicleState,
        hands: Hands<'_>,
    ) -> Vec<(&'a Rule, Telling)> {
        self.forget_if_unknown(vehicle);
        if hands.leads.is_some() && hands.leads != self.leads.as_ref() {
            self.leads = hands.leads.cloned();
            self.confirmed_with_leads.clear();
        }
        if hands.acts && hands.methods.iter().any(|method| method.moves_a_lead()) {
            self.confirmed_with_leads.clear();
        }
        // A caution that is confirmed with the leads as they lie depends on more than this.
        let only_reads = !hands.acts && before == vehicle && !hands.methods.iter().any(|method| is_with_leads(*method));
        if only_reads && self.last_reading.as_ref().is_some_and(|last| last.is_at(vehicle, &hands)) {
            return Vec::new();
        }
        self.last_reading = only_reads.then(|| ReadingLook {
            minute: hands.minute,
            near: hands.near.to_vec(),
            nearby: hands.nearby.clone(),
            methods: hands.methods.to_vec(),
            any_method: hands.any_method,
            fed: hands.fed,
            vehicle: vehicle.clone(),
        });
        let mut zones = hands.near.to_vec();
        zones.extend(hands.nearby.zones.iter().cloned());
        let anywhere = hands.nearby.unstated;
        let (fed, minute) = (hands.fed, hands.minute);
        let at = |vehicle, method| Circumstances { zones: &zones, anywhere, vehicle, method, minute, fed };
        let mut methods = hands.methods.to_vec();
        if hands.any_method {
            let of_zones = rules.rules.iter().filter(|rule| rule.when.is_near(at(vehicle, None)));
            methods.extend(of_zones.flat_map(|rule| rule.when.methods.iter().copied()));
        }
        let mut told = Vec::new();
        for (index, rule) in rules.rules.iter().enumerate() {
            // What belongs to a method is looked at with the vehicle as it is before it, too.
            let holds = |method: Option<Method>| {
                rule.when.holds(at(vehicle, method)) || (method.is_some() && rule.when.holds(at(before, method)))
            };
            let now = if methods.is_empty() { holds(None) } else { methods.iter().any(|method| holds(Some(*method))) };
            let of_a_method = !rule.when.methods.is_empty();
            let lasts = now || of_a_method && rule.when.methods.iter().any(|method| holds(Some(*method)));
            if !lasts {
                self.told.remove(&index);
            }
            if !now {
                continue;
            }
            let with_leads = rule.confirm == Confirm::EachTime
                && of_a_method
                && rule.when.methods.iter().all(|method| is_with_leads(*method));
            let becomes_true = self.told.insert(index);
            let comes_again = rule.confirm == Confirm::EachTime
                && of_a_method
                && if with_leads { hands.acts || !self.confirmed_with_leads.contains(&index) } else { hands.acts };
            let new_place = rule.confirm == Confirm::ByPlace
                && hands.nearby.places.iter().any(|place| !self.confirmed.contains(&(index, place.clone())));
            if !(becomes_true || comes_again || new_place) {
                continue;
            }
            let confirms = match rule.confirm {
                Confirm::EachTime if with_leads => self.confirmed_with_leads.insert(index),
                Confirm::EachTime => true,
                Confirm::ByPlace if !hands.nearby.places.is_empty() => {
                    self.confirmed.extend(hands.nearby.places.iter().map(|place| (index, place.clone())));
                    new_place
                }
                Confirm::ByPlace | Confirm::Once if self.was_confirmed_as_another(rules, rule) => false,
                Confirm::ByPlace | Confirm::Once => self.confirmed.insert((index, String::new())),
            };
            told.push((rule, if confirms { Telling::Whole } else { Telling::Reminder }));
        }
        told.sort_by_key(|(rule, _)| rule.word());
        confirm_with_a_worse_one(&mut told);
        told
    }

    /// Whether the rule whose hazard this one is, too, was confirmed.
    fn was_confirmed_as_another(&self, rules: &CautionRules, rule: &Rule) -> bool {
        let same = |id: &CautionId| rules.rules.iter().position(|other| other.id == *id);
        let other = rule.same_hazard_as.as_ref().and_then(same);
        other.is_some_and(|other| self.confirmed.contains(&(other, String::new())))
    }

    /// A state that became unknown: whatever was confirmed may have been about another vehicle state.
    fn forget_if_unknown(&mut self, vehicle: &VehicleState) {
        let now = STATE_PARTS.iter().map(|part| part.is_known(vehicle));
        let Some(known) = &mut self.known else {
            self.known = Some(now.collect());
            return;
        };
        let mut became_unknown = false;
        for (known, now) in known.iter_mut().zip(now) {
            became_unknown |= *known && !now;
            *known = now;
        }
        if became_unknown {
            self.forget();
        }
    }

    /// These were told and not read: where they still hold, they are told again.
    pub fn untell(&mut self, all: &CautionRules, rules: &[&Rule]) {
        self.told
            .retain(|index| all.rules.get(*index).is_some_and(|told| !rules.iter().any(|rule| rule.id == told.id)));
        self.last = None;
        self.last_reading = None;
    }

    /// Forgets what was told and confirmed: after a pause, what holds is told again.
    pub fn forget(&mut self) {
        self.told.clear();
        self.confirmed.clear();
        self.confirmed_with_leads.clear();
        self.last = None;
        self.last_reading = None;
    }
}

/// Its caution is confirmed with the leads as they lie.
const fn is_with_leads(method: Method) -> bool {
    matches!(method, Method::Crank | Method::Amperes)
}

/// Where a caution is confirmed at a prompt, those with a better word are confirmed with it: who stops at it reads them all.
fn confirm_with_a_worse_one(told: &mut [(&Rule, Telling)]) {
    let worst = told
        .iter()
        .filter(|(rule, telling)| *telling == Telling::Whole && rule.needs_confirming())
        .map(|(rule, _)| rule.word())
        .min();
    for (rule, telling) in told {
        if rule.needs_confirming() && worst.is_some_and(|worst| worst < rule.word()) {
            *telling = Telling::Whole;
        }
    }
}
