//! The way from one state of the vehicle to another, as it is gone when an answer was taken back.

use crate::model::vehicle::{Action, Battery, Engine, Key, Lift, VehicleState, Wheels};

impl VehicleState {
    /// What has to be done to come from here to another state, the key off before anything is taken apart or put together.
    /// Nothing is done towards what is not known there.
    pub fn way_to(&self, other: &Self) -> Vec<Action> {
        let mut apart = Vec::new();
        for connector in self.unplugged.difference(&other.unplugged) {
            apart.push(Action::Plug { connector: connector.clone() });
        }
        for connector in other.unplugged.difference(&self.unplugged) {
            apart.push(Action::Unplug { connector: connector.clone() });
        }
        for part in self.removed.difference(&other.removed) {
            apart.push(Action::PutBack { part: part.clone() });
        }
        for part in other.removed.difference(&self.removed) {
            apart.push(Action::TakeOut { part: part.clone() });
        }
        for jumper in self.jumpers.iter().filter(|jumper| !other.jumpers.contains(jumper)) {
            apart.push(Action::Disconnect { from: jumper.from.clone(), to: jumper.to.clone() });
        }
        for jumper in other.jumpers.iter().filter(|jumper| !self.jumpers.contains(jumper)) {
            apart.push(Action::Connect { jumper: jumper.clone() });
        }
        if self.battery != other.battery && other.battery != Battery::Unknown {
            apart.push(Action::MoveBatteryCable { to: other.battery });
        }
        let mut way = Vec::new();
        let stops = self.engine != Engine::Stopped && (other.engine == Engine::Stopped || !apart.is_empty());
        if stops {
            way.push(Action::StopEngine);
        }
        let mut key = self.key;
        if key == Key::On && !apart.is_empty() {
            way.push(Action::TurnKey { to: Key::Off });
            key = Key::Off;
        }
        way.append(&mut apart);
        for (part, _) in self.positions.iter().filter(|(part, _)| !other.positions.contains_key(*part)) {
            way.push(Action::Release { part: part.clone() });
        }
        for (part, position) in
            other.positions.iter().filter(|(part, position)| self.positions.get(*part) != Some(position))
        {
            way.push(Action::Hold { part: part.clone(), position: position.clone() });
        }
        if self.lift != other.lift && other.lift != Lift::Unknown {
            way.push(Action::MoveLift { to: other.lift });
        }
        if self.wheels != other.wheels && other.wheels != Wheels::Unknown {
            way.push(Action::SecureWheels { to: other.wheels });
        }
        let engine = if stops { Engine::Stopped } else { self.engine };
        match other.engine {
            Engine::Running if engine != Engine::Running => way.push(Action::StartEngine),
            Engine::Cranking if engine != Engine::Cranking => way.push(Action::Crank),
            _ if key != other.key && other.key != Key::Unknown => way.push(Action::TurnKey { to: other.key }),
            _ => {}
        }
        way
    }
}
