//! A circuit's names, for scripts that speak of places.

use super::bench::LIVE;
use super::netlist::Circuit;
use super::nodes::Node;
use super::point::{Point, Side};
use super::sample::Sample;
use super::solution::solve;
use crate::model::points::{Feeds, Paths, Points, Supply};
use crate::model::prompt::{LeadEnd, Zone};
use crate::model::vehicle::{Action, Battery, Engine, Key, VehicleState};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Minutes that one reading takes once the leads are where they belong (common practice, no source).
pub const MINUTES_A_READING: f64 = 0.5;

impl Circuit {
    /// Roles, points, connectors, parts and signals by name, with where a lead goes.
    pub fn names(&self) -> Points {
        let mut names = Points::default();
        for point in self.points() {
            names.ends.insert(point.id.clone(), end(&point.id, point));
        }
        for (role, point) in self.roles() {
            names.ends.insert(role.to_owned(), end(role, point));
        }
        names.connectors.extend(self.connectors().iter().map(|connector| connector.id.clone()));
        names.parts.extend(self.parts().iter().filter(|part| part.kind.has_socket()).map(|part| part.id.clone()));
        names
            .in_line
            .extend(self.parts().iter().filter(|part| part.kind.in_line().is_some()).map(|part| part.id.clone()));
        names.movable.extend(self.movements().iter().map(|movement| (movement.id.clone(), movement.what.clone())));
        let resting = self.movements().iter().filter_map(|movement| Some((movement.id.clone(), movement.rest()?)));
        names.rests.extend(resting);
        names.nuts.extend(self.connectors().iter().filter(|connector| connector.nut).map(|nut| nut.id.clone()));
        let placed = self.connectors().iter().filter(|connector| !connector.place.is_empty());
        names.places.extend(placed.map(|connector| (connector.id.clone(), connector.place.clone())));
        names.looks.extend(self.looks().iter().map(|look| look.id.clone()));
        names.signals.extend(self.signals().iter().map(|signal| signal.id.clone()));
        names
            .positions
            .extend(self.movements().iter().map(|movement| (movement.id.clone(), movement.known_positions())));
        let supplies = self.parts().iter().filter_map(|part| part.kind.posts());
        names.supplies.extend(supplies.map(|(positive, negative)| Supply {
            positive: self.names_along(positive),
            negative: self.names_along(negative),
        }));
        names.near = self.near();
        let circuit = Arc::new(self.clone());
        let same = Arc::clone(&circuit);
        names.feeds = Feeds::told_by(move |vehicle, one, other| circuit.feeds(vehicle, one, other));
        names.paths = Paths::told_by(move |vehicle, one, other, action| same.is_on_path(vehicle, one, other, action));
        names
    }

    /// What lies near each role, point, connector and part in a socket. Near a part is what lies near the points at its own ends.
    fn near(&self) -> BTreeMap<String, Vec<Zone>> {
        let points = self.points().iter().map(|point| (point.id.as_str(), point)).chain(self.roles());
        let mut near: BTreeMap<String, Vec<Zone>> =
            points.filter_map(|(name, point)| Some((name.to_owned(), point.near.clone()?))).collect();
        let connectors = self.connectors().iter();
        near.extend(connectors.filter_map(|connector| Some((connector.id.clone(), connector.near.clone()?))));
        for part in self.parts().iter().filter(|part| part.kind.has_socket() || part.kind.in_line().is_some()) {
            let ends = part.kind.ends();
            let at_it = self.points().iter().filter(|point| ends.iter().any(|(_, node)| *node == point.node));
            let mut said: Option<Vec<Zone>> = None;
            for zones in at_it.filter_map(|point| point.near.as_ref()) {
                let known = said.get_or_insert_default();
                known.extend(zones.iter().filter(|zone| !known.contains(zone)).cloned().collect::<Vec<_>>());
            }
            if let (Some(zones), false) = (said, near.contains_key(&part.id)) {
                near.insert(part.id.clone(), zones);
            }
        }
        near
    }

    /// Whether there is a voltage between two points of the healthy circuit; `None` where it does not know them or what the
    /// vehicle's state is.
    fn feeds(&self, vehicle: &VehicleState, one: &str, other: &str) -> Option<bool> {
        let unknown =
            vehicle.key == Key::Unknown || vehicle.engine == Engine::Unknown || vehicle.battery == Battery::Unknown;
        if unknown {
            return None;
        }
        let volts = solve(self, vehicle, &[], &Sample::NOMINAL).ok()?.volts(one, other).ok()?;
        Some(volts.abs() > LIVE)
    }

    /// Whether what an action opens or closes is on the path of volts between two points: the wires, contacts and fuses that
    /// lead to either of them go through it, or the volts of the healthy circuit change when it is open. `None` where the
    /// circuit does not know that.
    fn is_on_path(&self, vehicle: &VehicleState, one: &str, other: &str, action: &Action) -> Option<bool> {
        let open = match action {
            Action::Unplug { connector } | Action::Plug { connector } => {
                Action::Unplug { connector: connector.clone() }
            }
            Action::TakeOut { part } | Action::PutBack { part } => Action::TakeOut { part: part.clone() },
            // The battery feeds all that is read.
            _ => return Some(true),
        };
        let leads_through = |name: &str| {
            let along = self.nodes_along(self.point(name).ok()?.node, &self.posts());
            Some(match &open {
                Action::Unplug { connector } => self
                    .points()
                    .iter()
                    .any(|point| point.connector.as_ref() == Some(connector) && along.contains(&point.node)),
                Action::TakeOut { part } => {
                    let part = self.parts().iter().find(|known| known.id == *part)?;
                    part.kind.ends().iter().any(|(_, node)| along.contains(node))
                }
                _ => true,
            })
        };
        if leads_through(one)? || leads_through(other)? {
            return Some(true);
        }
        let volts = |vehicle: &VehicleState| solve(self, vehicle, &[], &Sample::NOMINAL).ok()?.volts(one, other).ok();
        Some((volts(vehicle)? - volts(&vehicle.after(&open, None))?).abs() > LIVE)
    }

    /// The posts of the batteries and the frame, which all branches share: no branch reaches another one through them.
    fn posts(&self) -> BTreeSet<Node> {
        let posts = self.parts().iter().filter_map(|part| part.kind.posts()).flat_map(|(one, other)| [one, other]);
        posts.chain(self.point("chassis").map(|frame| frame.node)).collect()
    }

    /// Points and roles that wires, joints, contacts and fuses connect with a node, whatever is switched.
    fn names_along(&self, node: Node) -> BTreeSet<String> {
        let along = self.nodes_along(node, &BTreeSet::new());
        let points = self.points().iter().map(|point| (point.id.as_str(), point));
        let on_it = points.chain(self.roles()).filter(|(_, point)| along.contains(&point.node));
        on_it.map(|(name, _)| name.to_owned()).collect()
    }

    /// The same, as nodes; at one of `ends` it does not go on.
    fn nodes_along(&self, node: Node, ends: &BTreeSet<Node>) -> BTreeSet<Node> {
        let mut along = BTreeSet::from([node]);
        let links: Vec<(Node, Node)> = self.parts().iter().filter_map(|part| part.kind.connection()).collect();
        loop {
            let before = along.len();
            for (from, to) in &links {
                let goes_on = |node: &Node| along.contains(node) && !ends.contains(node);
                if goes_on(from) || goes_on(to) {
                    along.extend([*from, *to]);
                }
            }
            if along.len() == before {
                return along;
            }
        }
    }

    /// Where a lead to a role or point takes hands: all pins of a connector, on both its sides, are one place.
    pub fn place_of(&self, name: &str) -> &str {
        self.point(name).map_or("", |point| point.connector.as_deref().unwrap_or(&point.id))
    }

    /// Minutes that it takes to get at a role or point; none where it is not known.
    pub fn minutes_to(&self, name: &str) -> f64 {
        self.point(name).map_or(0.0, |point| point.minutes)
    }
}

fn end(name: &str, point: &Point) -> LeadEnd {
    let side = match point.side {
        Some(Side::Harness) => ", harness side",
        Some(Side::Component) => ", component side",
        None => "",
    };
    let wire = point.color.as_ref().map(|color| match &point.gauge {
        Some(gauge) => format!("{color}, {gauge}"),
        None => color.clone(),
    });
    let pin = match (&point.connector, &point.pin) {
        (Some(connector), Some(pin)) => format!("{connector}.{pin}{side}"),
        _ => point.id.clone(),
    };
    LeadEnd {
        name: name.into(),
        point: Some(pin.into()),
        wire: wire.map(Into::into),
        place: Some(point.place.as_str()).filter(|place| !place.is_empty()).map(Into::into),
    }
}
