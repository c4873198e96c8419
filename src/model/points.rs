//! The names that a circuit gives to places on a vehicle.

use super::prompt::{LeadEnd, Leads, Zone};
use super::quantity::Quantity;
use super::unit::Unit;
use super::vehicle::{Action, Jumper, VehicleState};
use super::words;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

/// Roles, points, connectors and moving parts by name.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Points {
    /// Roles and points, each with where the lead goes.
    pub ends: BTreeMap<String, LeadEnd>,
    /// Connectors that can be taken apart.
    pub connectors: BTreeSet<String>,
    /// Those connectors that are a cable's lug on a stud, held by a nut.
    pub nuts: BTreeSet<String>,
    /// Fuses, wires, switches and the like that an ammeter can stand in place of.
    pub in_line: BTreeSet<String>,
    /// Fuses, relays and the like that can be taken out.
    pub parts: BTreeSet<String>,
    /// The parts to hold, turn or switch, each in words.
    pub movable: BTreeMap<String, String>,
    /// The position of a switch and the like that nobody has moved.
    pub rests: BTreeMap<String, String>,
    /// Where connectors are on the vehicle, as far as it is said.
    pub places: BTreeMap<String, String>,
    /// Prompts at which the circuit says what there is to see.
    pub looks: BTreeSet<String>,
    /// Signals that the module reports.
    pub signals: BTreeSet<String>,
    /// Where each movable thing can stand.
    pub positions: BTreeMap<String, Positions>,
    /// The two sides of each battery, as far as wires and fuses reach.
    pub supplies: Vec<Supply>,
    /// Tells by the circuit whether two of them are fed.
    pub feeds: Feeds,
    /// Tells by the circuit which connectors and parts are on the path of a reading.
    pub paths: Paths,
    /// The zones near each role, point, connector and part, as far as the circuit says it.
    pub near: BTreeMap<String, Vec<Zone>>,
}

/// The zones near the places that leads or hands go to.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Nearby {
    /// The zones.
    pub zones: Vec<Zone>,
    /// Of one of the places the circuit does not say what lies near it.
    pub unstated: bool,
    /// The places: connectors by their name, points by theirs.
    pub places: Vec<String>,
}

/// The names on both sides of a battery between which nothing holds the current back.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Supply {
    /// On the positive side.
    pub positive: BTreeSet<String>,
    /// On the negative side.
    pub negative: BTreeSet<String>,
}

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

/// Tells whether what an action opens or closes is on the path between two points; `None` where nobody knows.
type OnPath = dyn Fn(&VehicleState, &str, &str, &Action) -> Option<bool> + Send + Sync;

/// What a circuit says of it; nothing where there is none.
#[derive(Clone, Default)]
pub struct Paths(Option<Arc<OnPath>>);

impl Paths {
    /// As this tells.
    pub fn told_by(tells: impl Fn(&VehicleState, &str, &str, &Action) -> Option<bool> + Send + Sync + 'static) -> Self {
        Self(Some(Arc::new(tells)))
    }

    /// Whether what this action opens or closes is on the path of volts between these points.
    pub fn between(&self, vehicle: &VehicleState, one: &str, other: &str, action: &Action) -> Option<bool> {
        self.0.as_ref()?(vehicle, one, other, action)
    }
}

/// Names are compared, and the same names come from the same circuit.
impl PartialEq for Paths {
    fn eq(&self, other: &Self) -> bool {
        self.0.is_some() == other.0.is_some()
    }
}

impl fmt::Debug for Paths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.0.is_some() { "Paths(circuit)" } else { "Paths(nothing)" })
    }
}

/// Where something that is moved can stand.
#[derive(Clone, PartialEq, Debug)]
pub struct Positions {
    /// By name: choices, or stops of a travel.
    pub named: Vec<String>,
    /// From one end to the other, where it moves between two.
    pub travel: Option<(Quantity, Quantity)>,
    /// A switch or a command: no hand moves a part through a travel.
    pub switched: bool,
    /// All of it in words.
    pub in_words: String,
}

impl Positions {
    /// Whether a text says a position: a name, or a quantity on the travel.
    pub fn has(&self, position: &str) -> bool {
        let position = position.trim();
        let on_travel = |(from, to): (Quantity, Quantity)| on_travel(from, to, position).is_some();
        self.named.iter().any(|name| name == position) || self.travel.is_some_and(on_travel)
    }
}

/// The place between two ends that a text says, in SI units; a bare number is in the unit of the ends.
///
/// ```
/// use ohmwright::model::points::on_travel;
/// use ohmwright::model::quantity::Quantity;
/// let (from, to) = (Quantity::volts(0.0), Quantity::volts(5.0));
/// assert_eq!(on_travel(from, to, "2 V"), Some(2.0));
/// assert_eq!(on_travel(from, to, "6 V"), None);
/// ```
pub fn on_travel(from: Quantity, to: Quantity, text: &str) -> Option<f64> {
    let bare = text.parse::<f64>().ok().zip(Unit::of(from.dimension()));
    let quantity = bare.map(|(number, unit)| unit.quantity(number)).or_else(|| text.parse().ok())?;
    let inside =
        quantity.dimension() == from.dimension() && (from.si() - 1e-9..=to.si() + 1e-9).contains(&quantity.si());
    inside.then(|| quantity.si().clamp(from.si(), to.si()))
}

/// A name that the circuit does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the circuit has no {kind} `{name}`{}", words::did_you_mean(nearest.as_deref()))]
pub struct UnknownName {
    /// `role or point`, `connector` …
    pub kind: &'static str,
    /// The name in the script.
    pub name: String,
    /// The one that looks like it.
    pub nearest: Option<String>,
}

/// A position that a thing can't take.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{part}` can't stand at `{position}`; it stands {known}")]
pub struct NoSuchPosition {
    /// The part that is moved.
    pub part: String,
    /// Where it was said to stand.
    pub position: String,
    /// Where it can stand.
    pub known: String,
    /// The one that looks like it.
    pub nearest: Option<String>,
}

impl Points {
    /// Where a lead goes: by role, by point, or, where there is no circuit, in plain words.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn end(points: Option<&Self>, name: &str) -> Result<LeadEnd, UnknownName> {
        let Some(points) = points else { return Ok(LeadEnd { name: name.into(), ..LeadEnd::default() }) };
        points.ends.get(name).cloned().ok_or_else(|| UnknownName {
            kind: "role or point",
            name: name.to_owned(),
            nearest: words::nearest(name, points.ends.keys().map(String::as_str)),
        })
    }

    /// Where the circuit is opened for an ammeter: a role, a point, or a part that the ammeter stands in place of.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn in_line(points: Option<&Self>, name: &str) -> Result<LeadEnd, UnknownName> {
        match points {
            Some(points) if points.in_line.contains(name) && !points.ends.contains_key(name) => {
                Ok(LeadEnd { name: name.into(), ..LeadEnd::default() })
            }
            _ => Self::end(points, name),
        }
    }

    /// The zones near the places of a question's leads.
    pub fn near_leads(&self, leads: Option<&Leads>) -> Nearby {
        let mut nearby = Nearby::default();
        for (_, end) in leads.map(Leads::ends).unwrap_or_default() {
            self.go_near(&end.name, &mut nearby);
        }
        nearby
    }

    /// The zones near the places of an action: its connector, its part, the two ends of a jumper, the battery.
    pub fn near_action(&self, action: &Action) -> Nearby {
        let mut nearby = Nearby::default();
        match action {
            Action::Unplug { connector } | Action::Plug { connector } => self.go_near(connector, &mut nearby),
            // What has no place in the circuit file is where the step says.
            Action::TakeOut { part } | Action::PutBack { part } if self.near.contains_key(part) => {
                self.go_near(part, &mut nearby);
            }
            Action::Connect { jumper: Jumper { from, to, .. } } | Action::Disconnect { from, to } => {
                self.go_near(from, &mut nearby);
                self.go_near(to, &mut nearby);
            }
            _ => {}
        }
        nearby
    }

    /// Whether a hand moves something through a travel by this action. The circuit says it of a switch or a command; anything else
    /// may travel.
    pub fn moves_through_a_travel(&self, action: &Action) -> bool {
        match action {
            Action::Hold { part, .. } | Action::Release { part } => {
                self.positions.get(part).is_none_or(|positions| !positions.switched)
            }
            _ => true,
        }
    }

    fn go_near(&self, name: &str, nearby: &mut Nearby) {
        match self.near.get(name) {
            Some(zones) => nearby
                .zones
                .extend(zones.iter().filter(|zone| !nearby.zones.contains(zone)).cloned().collect::<Vec<_>>()),
            // A wire or a part has no place of its own in a circuit file: it is where the step says.
            None => nearby.unstated |= self.ends.contains_key(name) || self.connectors.contains(name),
        }
        // All pins of a connector are one place.
        let place = self.ends.get(name).and_then(|end| end.point.as_deref()).unwrap_or(name);
        let place = place
            .split_once('.')
            .filter(|(connector, _)| self.connectors.contains(*connector))
            .map_or(place, |(connector, _)| connector);
        if !nearby.places.iter().any(|known| known == place) {
            nearby.places.push(place.to_owned());
        }
    }

    /// Whether a plain wire, or an ammeter, between these two would short a supply. Without a circuit only the two posts of the
    /// battery are known, by the names that circuits give them.
    pub fn shorts(points: Option<&Self>, one: &str, other: &str) -> bool {
        match points {
            Some(points) => points.supplies.iter().any(|supply| {
                let joins = |one: &str, other: &str| supply.positive.contains(one) && supply.negative.contains(other);
                joins(one, other) || joins(other, one)
            }),
            None => [(one, other), (other, one)].contains(&("battery_positive", "battery_negative")),
        }
    }

    /// Whether a thing can stand so; anything goes where there is no circuit, or where it knows no such thing.
    ///
    /// # Errors
    /// A position that it can't take.
    pub fn stands(points: Option<&Self>, part: &str, position: &str) -> Result<(), NoSuchPosition> {
        match points.and_then(|points| points.positions.get(part)) {
            Some(positions) if !positions.has(position) => Err(NoSuchPosition {
                part: part.to_owned(),
                position: position.to_owned(),
                known: positions.in_words.clone(),
                nearest: words::nearest(position, positions.named.iter().map(String::as_str)),
            }),
            _ => Ok(()),
        }
    }

    /// Whether one of `names` is called so; anything goes where there is no circuit, or where it lists none.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn known<'a>(
        names: Option<impl IntoIterator<Item = &'a String>>,
        kind: &'static str,
        name: &str,
    ) -> Result<(), UnknownName> {
        let names: Vec<&str> = names.into_iter().flatten().map(String::as_str).collect();
        if names.is_empty() || names.contains(&name) {
            return Ok(());
        }
        Err(UnknownName { kind, name: name.to_owned(), nearest: words::nearest(name, names) })
    }
}
