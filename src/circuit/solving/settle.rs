//! How contacts, outputs and fuses come to rest around a solution that is followed from zero.

use super::element::{BLOWN, COLLAPSED, Element};
use super::network::{Network, NetworkError, Turn, Workspace};
use crate::circuit::memory::Contacts;

/// Sets of contacts after which it is given up.
const MOST_SETS: usize = 4000;
/// Rounds in which the states found on the path are put right without what held the path apart.
const MOST_CORRECTIONS: usize = 200;
/// How far beyond the end of a state counts as inside it, in volts for each volt: a milliohm beside a megohm rounds coarsely.
const SLACK: f64 = 1e-9;
/// Stands in for a coil without any voltage, in volts.
const NO_VOLTS: f64 = 1e-12;

impl Network {
    /// Finds the voltages by following them from zero. Contacts and outputs are changed outside of it, one part at a time: the
    /// one that is furthest beyond where it changes, as a proportion, which is the first that rising sources reach. Then all is
    /// followed anew. A set of contacts that returns is a network that finds no rest from here; that none exists is not said.
    pub(in crate::circuit) fn solve_following(
        &self,
        extra: &[Element],
        on: &Contacts,
        work: &mut Workspace,
    ) -> Result<(), NetworkError> {
        self.begin(on, work);
        work.cycle.clear();
        for _ in 0..MOST_SETS {
            if let Some(first) = work.cycle.iter().position(|turn| self.stand_the_same(&turn.states, &work.states)) {
                work.cycle.drain(..first);
                if let Some(output) = self.takes_its_supply_away(&work.cycle) {
                    work.states[output] = COLLAPSED;
                } else if let Some(fuse) = self.blows_over(&work.cycle) {
                    work.states[fuse] = BLOWN;
                } else {
                    work.states.clone_from(&work.cycle[0].states);
                    return Ok(());
                }
                work.cycle.clear();
                continue;
            }
            let mut path = std::mem::take(&mut work.path);
            // A path that is lost leaves states from which the corrections begin all the same.
            self.follow(extra, &mut work.states, &mut path);
            work.path = path;
            self.correct(extra, work)?;
            work.cycle.push(Turn { states: work.states.clone(), volts: work.matrix.rhs.clone() });
            if let Some(number) = self.most_displaced(work) {
                self.change(number, &mut work.states);
            } else {
                work.cycle.clear();
                if !self.blow(work) {
                    return Ok(());
                }
            }
        }
        let restless = self.restless(work);
        work.cycle.clear();
        Err(NetworkError::Unsettled(restless))
    }

    /// From the states found on the path to those without what led it, to the last digit.
    pub(in crate::circuit) fn correct(&self, extra: &[Element], work: &mut Workspace) -> Result<(), NetworkError> {
        for _ in 0..MOST_CORRECTIONS {
            self.equations(extra, work);
            self.eliminate(work)?;
            if !self.moves_a_piece(work) {
                return Ok(());
            }
        }
        let pieces = |number: &usize| self.elements[*number].has_pieces() || self.elements[*number].is_contact();
        Err(NetworkError::Unsettled((0..self.elements.len()).filter(pieces).collect()))
    }

    /// Moves the first curve or regulator that is beyond its piece, by one piece; whether there was one.
    fn moves_a_piece(&self, work: &mut Workspace) -> bool {
        for (element, state) in self.elements.iter().zip(&mut work.states) {
            let volts = &work.matrix.rhs;
            let next = match element {
                _ if element.has_pieces() => self.next(element, *state, &mut work.groups, volts, SLACK),
                _ if element.is_on(*state) => element.way(*state, volts, SLACK),
                _ => continue,
            };
            if next != *state {
                *state = match element {
                    Element::Curve { .. } if next > *state => *state + 1,
                    Element::Curve { .. } => *state - 1,
                    _ => next,
                };
                return true;
            }
        }
        false
    }

    fn stand_the_same(&self, one: &[u8], other: &[u8]) -> bool {
        let pairs = self.elements.iter().zip(one.iter().zip(other));
        pairs.into_iter().all(|(element, (one, other))| match element {
            _ if element.has_pieces() => true,
            _ if element.is_contact() => element.is_on(*one) == element.is_on(*other),
            _ => one == other,
        })
    }

    /// The contact or output that is furthest beyond where it changes.
    pub(in crate::circuit) fn most_displaced(&self, work: &Workspace) -> Option<usize> {
        let volts = &work.matrix.rhs;
        let beyond = |(number, (element, state)): (usize, (&Element, &u8))| {
            let next = element.next(*state, &self.segments, volts, SLACK);
            if !element.is_contact() || element.is_on(next) == element.is_on(*state) {
                return None;
            }
            let (across, up, down) = element.thresholds(volts)?;
            let by = if element.is_on(*state) { down / across.max(NO_VOLTS) } else { across / up };
            Some((by, number))
        };
        let found = self.elements.iter().zip(&work.states).enumerate().filter_map(beyond);
        // Of equals the first.
        found.reduce(|best, other| if other.0 > best.0 { other } else { best }).map(|(_, number)| number)
    }

    /// Changes it, and with a contact all that the same coil moves.
    fn change(&self, number: usize, states: &mut [u8]) {
        let to = u8::from(!self.elements[number].is_on(states[number]));
        let Element::Contact { coil, .. } = self.elements[number] else {
            states[number] = to;
            return;
        };
        for ((element, owner), state) in self.elements.iter().zip(&self.owners).zip(states) {
            if *owner == self.owners[number]
                && matches!(element, Element::Contact { coil: other, .. } if *other == coil)
            {
                *state = to;
            }
        }
    }

    /// An output that goes off in this cycle and would at once come on again, all else as it stands: its own load takes its
    /// supply away.
    fn takes_its_supply_away(&self, cycle: &[Turn]) -> Option<usize> {
        let turns = cycle.iter().zip(cycle.iter().cycle().skip(1));
        turns.into_iter().find_map(|(turn, after)| {
            (0..self.elements.len()).find(|number| {
                let element = &self.elements[*number];
                matches!(element, Element::Share { .. })
                    && element.is_on(turn.states[*number])
                    && !element.is_on(after.states[*number])
                    && element.is_on(element.next(after.states[*number], &self.segments, &after.volts, SLACK))
            })
        })
    }

    /// The fuse that the mean square of its current over the cycle blows, the most overloaded one.
    fn blows_over(&self, cycle: &[Turn]) -> Option<usize> {
        let mean_square = |number: usize| {
            let loads = cycle.iter().map(|turn| self.elements[number].overload(turn.states[number], &turn.volts));
            loads.map(|load| load * load).sum::<f64>() / cycle.len() as f64
        };
        let loads = (0..self.elements.len()).map(|number| (mean_square(number), number));
        loads
            .reduce(|best, other| if other.0 > best.0 { other } else { best })
            .filter(|best| best.0 >= 1.0)
            .map(|best| best.1)
    }
}
