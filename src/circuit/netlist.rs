//! A circuit as its file describes it.

use super::error::{CircuitError, SolveError};
use super::fault::{Fault, FaultId};
use super::file;
use super::movement::Movement;
use super::network::{NetworkError, Owner, Workspace};
use super::nodes::Node;
use super::parts::part::Part;
use super::point::{Connector, Point};
use super::prepared::{Prepared, Situation, prepare};
use super::sample::Sample;
use super::signal::Signal;
use super::solution::Solution;
use super::spice;
use crate::model::vehicle::{Engine, Key, VehicleState};
use crate::model::words::nearest;
use std::collections::{BTreeSet, HashMap};

/// A circuit: where leads can go, what lies between, what can be wrong with it.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// What it is, in words.
    pub title: String,
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
    pub(super) faults: Vec<Fault>,
    pub(super) signals: Vec<Signal>,
    pub(super) semantic_errors: Vec<CircuitError>,
}

impl Circuit {
    /// Reads a circuit file. `file` names it in errors.
    ///
    /// ```
    /// use ohmwright::circuit::netlist::Circuit;
    /// use ohmwright::circuit::sample::Sample;
    /// let text = r#"
    ///     title = "Divider"
    ///     zero_volts = "minus"
    ///     start = { key = "on" }
    ///     point = [{ id = "plus" }, { id = "middle" }, { id = "minus" }]
    ///     part = [
    ///         { id = "battery", kind = "battery", positive = "plus", negative = "minus", volts = "12 V", resistance = "1 mohm" },
    ///         { id = "upper", kind = "resistor", from = "plus", to = "middle", resistance = "1 kohm" },
    ///         { id = "lower", kind = "resistor", from = "middle", to = "minus", resistance = "2 kohm" },
    ///     ]
    /// "#;
    /// let circuit = Circuit::parse(text, "divider.toml").unwrap();
    /// let solution = circuit.solve(circuit.start(), &[], &Sample::NOMINAL).unwrap();
    /// assert!((solution.volts("middle", "minus").unwrap() - 8.0).abs() < 1e-4);
    /// ```
    pub fn parse(text: &str, file: &str) -> Result<Self, CircuitError> {
        file::parse(text, file)
    }

    /// What can be read and is surely not meant so. A record that was made with it is none the worse: it is looked for where
    /// a circuit is taken up and not where a kept copy is.
    pub fn semantic_errors(&self) -> &[CircuitError] {
        &self.semantic_errors
    }

    /// Fuses that blow though nothing is broken, each with the state in which it does: key, engine, and one thing moved at a
    /// time from where it stands at the start.
    pub fn fuses_that_blow(&self) -> Vec<(String, String)> {
        let mut found: Vec<(String, String)> = Vec::new();
        for key in [Key::Off, Key::Accessory, Key::On] {
            for engine in [Engine::Stopped, Engine::Cranking, Engine::Running] {
                if key != Key::On && engine != Engine::Stopped {
                    continue;
                }
                for (moved, position) in self.positions_one_by_one() {
                    let mut state = VehicleState { key, engine, ..self.start.clone() };
                    let mut words = format!("key {key}, engine {engine}");
                    if let (Some(moved), Some(position)) = (moved, position) {
                        words.push_str(&format!(", {moved} at {position}"));
                        state.positions.insert(moved.to_owned(), position);
                    }
                    let Ok(solution) = self.solve(&state, &[], &Sample::NOMINAL) else { continue };
                    for fuse in solution.blown() {
                        if !found.iter().any(|(known, _)| known == fuse) {
                            found.push((fuse.to_owned(), words.clone()));
                        }
                    }
                }
            }
        }
        found
    }

    /// Nothing moved, then each thing at each of its choices, or at both ends of its travel.
    fn positions_one_by_one(&self) -> Vec<(Option<&str>, Option<String>)> {
        let mut all = vec![(None, None)];
        for movement in &self.movements {
            all.extend(movement.sweep(2).into_iter().map(|position| (Some(movement.id.as_str()), Some(position))));
        }
        all
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

    /// What can be moved.
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

    /// Solves it in a state of the vehicle, with faults in it.
    pub fn solve(&self, state: &VehicleState, faults: &[FaultId], sample: &Sample) -> Result<Solution<'_>, SolveError> {
        let faults = self.fault_numbers(faults)?;
        let prepared = prepare(self, &Situation { state, faults: &faults, sample: *sample, blown: &BTreeSet::new() })?;
        Solution::new(self, &prepared, &mut Workspace::default())
    }

    /// The same network as a SPICE netlist, nominal values, for any program that reads one.
    ///
    /// Nodes are numbered as `n1`, `n2` … with a comment that names each; a data bus comes as two networks, `r1` … while
    /// recessive and `d1` … while dominant, and `n1` … their average. What floats is tied to zero volts by 1 Ω.
    pub fn spice(&self, state: &VehicleState, faults: &[FaultId]) -> Result<String, SolveError> {
        let faults = self.fault_numbers(faults)?;
        let situation = Situation { state, faults: &faults, sample: Sample::NOMINAL, blown: &BTreeSet::new() };
        let prepared = prepare(self, &situation)?;
        let solution = Solution::new(self, &prepared, &mut Workspace::default())?;
        Ok(spice::netlist(self, &prepared, &solution))
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

    pub(super) fn fault_numbers(&self, ids: &[FaultId]) -> Result<Vec<usize>, SolveError> {
        ids.iter().map(|id| self.fault_number(id)).collect()
    }

    /// A network's trouble in the circuit's own words.
    pub(super) fn trouble(&self, trouble: NetworkError, owners: &[Owner]) -> SolveError {
        match trouble {
            NetworkError::Floats(unknown) => SolveError::Floats { node: self.nodes[unknown + 1].clone() },
            NetworkError::Unsettled(elements) => {
                let names: BTreeSet<_> = elements
                    .into_iter()
                    .filter_map(|element| match owners[element] {
                        Owner::Part(part) => Some(self.parts[part].id.clone()),
                        Owner::Added => None,
                    })
                    .collect();
                SolveError::Unsettled { parts: names.into_iter().collect() }
            }
        }
    }

    /// Solves each phase of a prepared circuit and hands out its share of the time and its solution.
    pub(super) fn averaged(
        &self,
        prepared: &Prepared,
        extra: &[super::element::Element],
        work: &mut Workspace,
        mut each: impl FnMut(f64, &super::network::Network, &Workspace),
    ) -> Result<(), SolveError> {
        for (share, network) in &prepared.phases {
            network.solve(extra, work).map_err(|trouble| self.trouble(trouble, &network.owners))?;
            each(*share, network, work);
        }
        Ok(())
    }
}

fn unknown<'a>(what: &'static str, name: &str, known: impl Iterator<Item = &'a str>) -> SolveError {
    SolveError::UnknownName { what, name: name.to_owned(), nearest: nearest(name, known) }
}
