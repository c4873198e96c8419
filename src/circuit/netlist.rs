//! A circuit as its file describes it.

use super::cause::Cause;
use super::error::{CircuitError, SolveError};
use super::fault::{Fault, FaultId};
use super::look::Look;
use super::movement::Movement;
use super::nodes::Node;
use super::parts::part::Part;
use super::point::{Connector, Point};
use super::sample::Spread;
use super::severity::Placed;
use super::shows::Shows;
use super::signal::Signal;
use crate::model::job::Nominal;
use crate::model::vehicle::VehicleState;
use crate::model::words::nearest;
use std::collections::HashMap;

/// A circuit: where leads can go, what lies between, what can be wrong with it. Only [`super::file::parse`] makes one: nodes,
/// points, parts and faults name each other by number.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// Its description.
    pub title: String,
    /// The system's nominal voltage.
    pub(super) nominal: Option<Nominal>,
    pub(super) start: VehicleState,
    /// Share of the time that a data bus is dominant.
    pub(super) share: f64,
    /// Names of the nodes, zero volts first.
    pub(super) nodes: Vec<String>,
    pub(super) nodes_by_name: HashMap<String, Node>,
    pub(super) points: Vec<Point>,
    pub(super) connectors: Vec<Connector>,
    pub(super) roles: Vec<(String, usize)>,
    pub(super) movements: Vec<Movement>,
    pub(super) parts: Vec<Part>,
    pub(super) causes: Vec<Cause>,
    pub(super) faults: Vec<Fault>,
    pub(super) looks: Vec<Look>,
    pub(super) shows: Option<Shows>,
    /// Healthy insulation, in ohms.
    pub(super) insulation: f64,
    pub(super) example: bool,
    pub(super) signals: Vec<Signal>,
    pub(super) semantic_errors: Vec<CircuitError>,
    /// Every tolerance of a part, by the number of its draw.
    pub(super) tolerances: Vec<Spread>,
}

impl Circuit {
    /// What can be read and is surely not meant so. A record that was made with it is none the worse: it is looked for where
    /// a circuit is taken up and not where a kept copy is.
    pub fn semantic_errors(&self) -> &[CircuitError] {
        &self.semantic_errors
    }

    /// The nominal voltage of its system: as its file says, else by its batteries. None where it has none.
    pub fn nominal(&self) -> Option<Nominal> {
        self.nominal
    }

    /// Whether some load comes and goes by itself as time passes.
    pub fn comes_and_goes(&self) -> bool {
        self.parts.iter().any(|part| part.kind.comes_and_goes())
    }

    /// Whether waiting changes anything: a battery runs down, something falls asleep or comes and goes.
    pub fn knows_time(&self) -> bool {
        let mut kinds = self.parts.iter().map(|part| &part.kind);
        kinds.any(|kind| kind.capacity().is_some() || kind.comes_and_goes() || kind.awake_while().is_some())
    }

    /// Every tolerance of its parts, in the order in which [`super::bench::Bench::stand`] takes the shares of them.
    pub fn tolerances(&self) -> &[Spread] {
        &self.tolerances
    }

    /// The vehicle's state when the work begins.
    pub fn start(&self) -> &VehicleState {
        &self.start
    }

    /// Every place where a lead can go.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Roles and the points that play them.
    pub fn roles(&self) -> impl Iterator<Item = (&str, &Point)> {
        self.roles.iter().map(|(role, point)| (role.as_str(), &self.points[*point]))
    }

    /// Connectors that can be taken apart.
    pub fn connectors(&self) -> &[Connector] {
        &self.connectors
    }

    /// Its movements.
    pub fn movements(&self) -> &[Movement] {
        &self.movements
    }

    /// Parts, contacts of connectors among them.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Faults that it can have.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// What a procedure may conclude: its `[[cause]]` tables, then what only faults name.
    pub fn causes(&self) -> &[Cause] {
        &self.causes
    }

    /// The cause of a name.
    pub fn cause(&self, id: &str) -> Option<&Cause> {
        self.causes.iter().find(|cause| cause.id == id)
    }

    /// The looks that a person can take at the vehicle.
    pub fn looks(&self) -> &[Look] {
        &self.looks
    }

    /// The look of a name.
    pub fn look(&self, id: &str) -> Option<&Look> {
        self.looks.iter().find(|look| look.id == id)
    }

    /// When a driver notices a fault that says nothing of its own.
    pub const fn shows(&self) -> Option<&Shows> {
        self.shows.as_ref()
    }

    /// Whether its pins, colors and values are an example's, and no vehicle's.
    pub const fn is_example(&self) -> bool {
        self.example
    }

    /// Signals that a control module shows.
    pub fn signals(&self) -> &[Signal] {
        &self.signals
    }

    /// The point of a name or of a role.
    pub fn point(&self, name: &str) -> Result<&Point, SolveError> {
        if let Some((_, point)) = self.roles.iter().find(|(role, _)| role == name) {
            return Ok(&self.points[*point]);
        }
        let known = || {
            self.points.iter().map(|point| point.id.as_str()).chain(self.roles.iter().map(|(role, _)| role.as_str()))
        };
        self.points.iter().find(|point| point.id == name).ok_or_else(|| unknown("point", name, known()))
    }

    /// The fault of a name.
    pub fn fault(&self, id: &FaultId) -> Result<&Fault, SolveError> {
        Ok(&self.faults[self.fault_number(id)?])
    }

    /// The movement of a name.
    pub fn movement(&self, id: &str) -> Result<&Movement, SolveError> {
        let known = self.movements.iter().map(|movement| movement.id.as_str());
        self.movements.iter().find(|movement| movement.id == id).ok_or_else(|| unknown("movement", id, known))
    }

    /// The signal of a name.
    pub fn signal(&self, id: &str) -> Result<&Signal, SolveError> {
        let known = self.signals.iter().map(|signal| signal.id.as_str());
        self.signals.iter().find(|signal| signal.id == id).ok_or_else(|| unknown("signal of the module", id, known))
    }

    /// Every node's name in the order of the SPICE netlist: the first is `n1`. Junctions inside parts are among them.
    pub fn node_names(&self) -> impl Iterator<Item = &str> {
        self.nodes[1..].iter().map(String::as_str)
    }

    pub(super) fn node(&self, name: &str) -> Result<Node, SolveError> {
        match self.nodes_by_name.get(name) {
            Some(node) => Ok(*node),
            None => self.point(name).map(|point| point.node),
        }
    }

    pub(super) fn part_number(&self, id: &str) -> Result<usize, SolveError> {
        let known = self.parts.iter().map(|part| part.id.as_str());
        self.parts.iter().position(|part| part.id == id).ok_or_else(|| unknown("part", id, known))
    }

    pub(super) fn connector_number(&self, id: &str) -> Result<usize, SolveError> {
        let known = self.connectors.iter().map(|connector| connector.id.as_str());
        self.connectors.iter().position(|connector| connector.id == id).ok_or_else(|| unknown("connector", id, known))
    }

    fn fault_number(&self, id: &FaultId) -> Result<usize, SolveError> {
        let known = self.faults.iter().map(|fault| fault.id.0.as_str());
        self.faults.iter().position(|fault| fault.id == *id).ok_or_else(|| unknown("fault", &id.0, known))
    }

    /// These faults, each at the middle of its range.
    pub(super) fn placed(&self, ids: &[FaultId]) -> Result<Vec<Placed>, SolveError> {
        ids.iter().map(|id| self.faults[self.fault_number(id)?].placed(None)).collect()
    }
}

fn unknown<'a>(what: &'static str, name: &str, known: impl Iterator<Item = &'a str>) -> SolveError {
    SolveError::UnknownName { what, name: name.to_owned(), nearest: nearest(name, known) }
}
