//! A circuit in one state with one set of faults, and its solution.

use super::alternating::Alternating;
use super::element::{BLOWN, Element, ON, Segment};
use super::matrix::Matrix;
use super::path::Path;
use super::span::Span;
use crate::circuit::memory::Contacts;

/// Rounds of states after which the solution is followed instead.
const MOST_ROUNDS: usize = 4000;

/// How far beyond the end of a state counts as inside it, in volts for each volt, for the sake of rounding.
const SLACK: f64 = 1e-13;

/// Elements with all their values.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Number of unknown node voltages; also the number of the zero-volt node.
    pub size: usize,
    pub elements: Vec<Element>,
    /// The part that each element comes from.
    pub owners: Vec<Owner>,
    pub segments: Vec<Segment>,
    /// The elements that alternating current sees differently.
    pub alternating: Vec<Alternating>,
}

/// Where an element comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Owner {
    /// A part, by number.
    Part(usize),
    /// A jumper of the technician's, a fault's short or the meter.
    Added,
}

/// Buffers that are used again from one solution to the next, and the last solution.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    pub(in crate::circuit) matrix: Matrix,
    /// State of each element; of a network that finds no rest, in the first set that returns.
    pub states: Vec<u8>,
    /// Contacts and outputs as they stood before the last fuse blew, or at the beginning.
    pub(in crate::circuit) before: Vec<u8>,
    visited: Vec<u8>,
    pub(in crate::circuit) groups: Vec<usize>,
    /// Nodes held at zero because nothing connects their island with the rest.
    pub ties: Vec<usize>,
    pub(in crate::circuit) path: Path,
    /// The sets of contacts that return, in order; empty where the network rests.
    pub cycle: Vec<Turn>,
    /// Systems of equations solved so far.
    pub rounds: usize,
}

/// One set of contacts of a network that finds no rest.
#[derive(Clone, Debug)]
pub struct Turn {
    /// State of each element.
    pub states: Vec<u8>,
    /// Node voltages, the last one the zero-volt node's.
    pub volts: Vec<f64>,
}

impl Workspace {
    /// Node voltages of the last solution, the last one the zero-volt node's; of a network that finds no rest, those of the
    /// first set that returns.
    pub fn volts(&self) -> &[f64] {
        self.cycle.first().map_or(&self.matrix.rhs, |turn| &turn.volts)
    }

    /// What a value comes to, given element states and node voltages.
    pub fn span(&self, value: impl Fn(&[u8], &[f64]) -> f64) -> Span {
        if self.cycle.is_empty() {
            return Span::steady(value(&self.states, &self.matrix.rhs));
        }
        Span::over(self.cycle.iter().map(|turn| value(&turn.states, &turn.volts)))
    }

    /// Volts between two unknowns.
    pub fn volts_between(&self, a: usize, b: usize) -> Span {
        self.span(|_, volts| volts[a] - volts[b])
    }

    /// Whether the network finds no rest.
    pub const fn is_unsteady(&self) -> bool {
        !self.cycle.is_empty()
    }
}

/// Why a network has no solution.
#[derive(Debug, PartialEq)]
pub enum NetworkError {
    /// No voltage for this unknown.
    Floats(usize),
    /// No set of pieces was found for these elements that agrees with its own voltages.
    Unsettled(Vec<usize>),
}

impl Network {
    pub fn push(&mut self, owner: Owner, element: Element) {
        self.elements.push(element);
        self.owners.push(owner);
    }

    /// Finds the node voltages. `extra` are linear elements of a meter, `on` the parts whose contacts are pulled in or whose
    /// output is on when it begins.
    ///
    /// Every element is linear in each of its states. From one set of states the equations give voltages, and those the
    /// states that agree with them; that is repeated until nothing changes. It is quick, and may come back to a set that was
    /// tried, or rest where no circuit goes: then the solution is followed ([`Self::solve_following`]).
    ///
    /// A network that finds no rest is no error: [`Workspace::cycle`] has the sets of contacts that return.
    pub fn solve(&self, extra: &[Element], on: &Contacts, work: &mut Workspace) -> Result<(), NetworkError> {
        work.cycle.clear();
        self.begin(on, work);
        if !self.elements.iter().any(Element::switches) {
            self.equations(extra, work);
            return self.eliminate(work);
        }
        match self.rounds(extra, work) {
            Ok(true) => Ok(()),
            _ => self.solve_following(extra, on, work),
        }
    }

    /// Nothing powered and every fuse whole, contacts and outputs as they were.
    pub(in crate::circuit) fn begin(&self, on: &Contacts, work: &mut Workspace) {
        let was_on = |element: &Element, owner: &Owner| match owner {
            Owner::Part(part) => element.is_contact() && on.contains(part),
            Owner::Added => false,
        };
        work.states.clear();
        work.states.extend(self.elements.iter().zip(&self.owners).map(|(element, owner)| {
            if !on.is_empty() && was_on(element, owner) { ON } else { element.initial(&self.segments) }
        }));
        work.before.clone_from(&work.states);
    }

    /// The parts whose contacts are pulled in or whose output is on in the last solution.
    pub(in crate::circuit) fn contacts(&self, work: &Workspace) -> Contacts {
        let on = self.elements.iter().zip(&self.owners).zip(&work.states);
        on.filter_map(|((element, owner), state)| match owner {
            Owner::Part(part) if element.is_contact() && element.is_on(*state) => Some(*part),
            _ => None,
        })
        .collect()
    }

    /// The contacts and outputs that do not stand the same in all the sets that return.
    pub(in crate::circuit) fn restless(&self, work: &Workspace) -> Vec<usize> {
        let Some((first, rest)) = work.cycle.split_first() else { return Vec::new() };
        let changes = |index: &usize| {
            let element = &self.elements[*index];
            let on = |turn: &Turn| element.is_on(turn.states[*index]);
            element.is_contact() && rest.iter().any(|turn| on(turn) != on(first))
        };
        (0..self.elements.len()).filter(changes).collect()
    }

    /// Whether the rounds of states come to a rest that can be believed.
    fn rounds(&self, extra: &[Element], work: &mut Workspace) -> Result<bool, NetworkError> {
        work.visited.clear();
        for _ in 0..MOST_ROUNDS {
            let width = work.states.len();
            if work.visited.chunks_exact(width).any(|tried| tried == work.states) {
                return Ok(false);
            }
            work.visited.extend_from_slice(&work.states);
            self.equations(extra, work);
            self.eliminate(work)?;
            if self.advance(work) {
                continue;
            }
            if self.held_by_memory(work) {
                return Ok(false);
            }
            if !self.blow(work) {
                return Ok(true);
            }
            work.visited.clear();
        }
        Ok(false)
    }

    /// Whether something has changed that would not change with these voltages: the rounds may have passed by voltages that
    /// the circuit never has, so how it came about has to be followed.
    fn held_by_memory(&self, work: &Workspace) -> bool {
        let volts = &work.matrix.rhs;
        let all = self.elements.iter().zip(work.states.iter().zip(&work.before));
        all.into_iter().any(|(element, (state, before))| {
            element.is_contact()
                && element.is_on(*state) != element.is_on(*before)
                && element.is_on(element.next(*before, &self.segments, volts, 0.0)) != element.is_on(*state)
        })
    }

    pub(in crate::circuit) fn eliminate(&self, work: &mut Workspace) -> Result<(), NetworkError> {
        work.rounds += 1;
        work.matrix.solve().map_err(NetworkError::Floats)
    }

    pub(in crate::circuit) fn equations(&self, extra: &[Element], work: &mut Workspace) {
        work.matrix.clear(self.size);
        work.groups.clear();
        work.groups.extend(0..=self.size);
        let groups = &mut work.groups;
        let mut join = |a: usize, b: usize| {
            let (a, b) = (root(groups, a), root(groups, b));
            // The zero-volt node has the highest number and stays the root of its group.
            groups[a.min(b)] = a.max(b);
        };
        let states = work.states.iter().copied().chain(std::iter::repeat(0));
        for (element, state) in self.elements.iter().chain(extra).zip(states) {
            element.stamp(state, &self.segments, &mut work.matrix);
            element.joins(state, &self.segments, &mut join);
        }
        work.ties.clear();
        for node in 0..self.size {
            // No current leaves an island, so one tie of any size holds it without changing anything inside it.
            if work.groups[node] == node {
                work.ties.push(node);
                work.matrix.conductance(node, self.size, 1.0);
            }
        }
    }

    /// Moves states towards what the voltages say; whether any moved.
    fn advance(&self, work: &mut Workspace) -> bool {
        let mut moved = false;
        for (element, state) in self.elements.iter().zip(&mut work.states) {
            let next = self.next(element, *state, &mut work.groups, &work.matrix.rhs, SLACK);
            moved |= next != *state;
            *state = next;
        }
        moved
    }

    /// The state that agrees with the voltages.
    pub(in crate::circuit) fn next(
        &self,
        element: &Element,
        state: u8,
        groups: &mut [usize],
        volts: &[f64],
        slack: f64,
    ) -> u8 {
        // A current that is pressed into an island has nowhere to go, so it is not the limit that holds.
        match element.pressed(state).filter(|node| root(groups, *node) != self.size) {
            Some(_) => element.released(state),
            None => element.next(state, &self.segments, volts, slack),
        }
    }

    /// Blows the most overloaded fuse, if there is one; whether there was.
    pub(in crate::circuit) fn blow(&self, work: &mut Workspace) -> bool {
        let overload = |(element, state): (&Element, &u8)| element.overload(*state, &work.matrix.rhs);
        let loads = self.elements.iter().zip(&work.states).map(overload).enumerate();
        let Some((worst, load)) = loads.max_by(|a, b| a.1.total_cmp(&b.1)) else { return false };
        if load < 1.0 {
            return false;
        }
        work.states[worst] = BLOWN;
        work.before.clone_from(&work.states);
        true
    }
}

pub(in crate::circuit) fn root(groups: &mut [usize], mut node: usize) -> usize {
    while groups[node] != node {
        groups[node] = groups[groups[node]];
        node = groups[node];
    }
    node
}
