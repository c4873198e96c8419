//! A circuit in one state with one set of faults, and its solution.

use super::alternating::Alternating;
use super::element::{BLOWN, COLLAPSED, Element, ON, Segment};
use super::matrix::Matrix;

/// Rounds after which a circuit that still switches is given up.
const MOST_ROUNDS: usize = 4000;

/// How the search goes on when a set of states comes back: whether one element at a time is changed, and how far beyond the end of
/// a state counts as inside it. The last is for circuits whose rounding is large, a milliohm beside a megohm.
const PACES: [(bool, f64); 3] = [(false, 1e-13), (true, 1e-13), (true, 1e-9)];

/// Elements with all their values.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Number of unknown node voltages; also the number of the zero-volt node.
    pub size: usize,
    pub elements: Vec<Element>,
    /// The part that each element comes from.
    pub owners: Vec<Owner>,
    pub segments: Vec<Segment>,
    /// What alternating current sees otherwise than direct current does.
    pub alternating: Vec<Alternating>,
}

/// Where an element comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Owner {
    /// A part, by number.
    Part(usize),
    /// A jumper of the technician's, a fault's short or the meter.
    Added,
}

/// Buffers that are used again from one solution to the next.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    matrix: Matrix,
    /// State of each element.
    pub states: Vec<u8>,
    visited: Vec<u8>,
    groups: Vec<usize>,
    /// Nodes held at zero because nothing connects their island with the rest.
    pub ties: Vec<usize>,
}

impl Workspace {
    /// Node voltages of the last solution, the last one the zero-volt node's.
    pub fn volts(&self) -> &[f64] {
        &self.matrix.rhs
    }
}

/// Why a network has no solution.
#[derive(Debug, PartialEq)]
pub enum NetworkError {
    /// No voltage for this unknown.
    Floats(usize),
    /// These elements never come to rest.
    Unsettled(Vec<usize>),
}

impl Network {
    pub fn push(&mut self, owner: Owner, element: Element) {
        self.elements.push(element);
        self.owners.push(owner);
    }

    /// Finds the node voltages, which are then [`Workspace::volts`]. `extra` are linear elements of a meter.
    ///
    /// Every element is linear in each of its states. From one set of states the equations give voltages, and those the
    /// states that agree with them. That is repeated until nothing changes. Sets that have been tried are kept: when one
    /// comes back, from there on only the first element that disagrees is changed, by one step; when one comes back then,
    /// the same with more slack for rounding; when one comes back then too, the circuit is said not to settle. There are
    /// finitely many sets, so the search ends. A fuse blows only once all else has settled, the most overloaded one first,
    /// and stays blown.
    pub fn solve(&self, extra: &[Element], work: &mut Workspace) -> Result<(), NetworkError> {
        work.states.clear();
        work.states.extend(self.elements.iter().map(|element| element.initial(&self.segments)));
        work.visited.clear();
        let switching = self.elements.iter().any(Element::switches);
        let mut pace = 0;
        for _ in 0..MOST_ROUNDS {
            if switching {
                let width = work.states.len();
                if work.visited.chunks_exact(width).any(|tried| tried == work.states) {
                    if pace + 1 == PACES.len() {
                        return Err(NetworkError::Unsettled(self.restless(work)));
                    }
                    pace += 1;
                    work.visited.clear();
                }
                work.visited.extend_from_slice(&work.states);
            }
            self.equations(extra, work);
            work.matrix.solve().map_err(NetworkError::Floats)?;
            if !switching || !self.advance(work, PACES[pace]) && !self.blow(work) {
                return Ok(());
            }
        }
        Err(NetworkError::Unsettled(self.restless(work)))
    }

    fn equations(&self, extra: &[Element], work: &mut Workspace) {
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
    fn advance(&self, work: &mut Workspace, (one_by_one, slack): (bool, f64)) -> bool {
        let mut moved = false;
        for (element, state) in self.elements.iter().zip(&mut work.states) {
            // A current that is pressed into an island has nowhere to go, so it is not the limit that holds.
            let next = match element.pressed(*state).filter(|node| root(&mut work.groups, *node) != self.size) {
                Some(_) => element.released(*state),
                None => element.next(*state, &self.segments, &work.matrix.rhs, slack),
            };
            if next != *state {
                moved = true;
                match element {
                    Element::Curve { .. } if one_by_one => *state = if next > *state { *state + 1 } else { *state - 1 },
                    // One that goes off again after the sets have come back once would only take turns.
                    Element::Share { .. } if one_by_one && *state == ON => *state = COLLAPSED,
                    _ => *state = next,
                }
                if one_by_one {
                    return true;
                }
            }
        }
        moved
    }

    fn blow(&self, work: &mut Workspace) -> bool {
        let overload = |(element, state): (&Element, &u8)| element.overload(*state, &work.matrix.rhs);
        let loads = self.elements.iter().zip(&work.states).map(overload).enumerate();
        let Some((worst, load)) = loads.max_by(|a, b| a.1.total_cmp(&b.1)) else { return false };
        if load < 1.0 {
            return false;
        }
        work.states[worst] = BLOWN;
        work.visited.clear();
        true
    }

    /// The elements that were in more than one state among the sets that came back.
    fn restless(&self, work: &Workspace) -> Vec<usize> {
        let width = work.states.len().max(1);
        let changes =
            |index: &usize| work.visited.chunks_exact(width).any(|tried| tried[*index] != work.states[*index]);
        (0..self.elements.len()).filter(changes).collect()
    }
}

fn root(groups: &mut [usize], mut node: usize) -> usize {
    while groups[node] != node {
        groups[node] = groups[groups[node]];
        node = groups[node];
    }
    node
}
