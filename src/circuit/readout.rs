//! One vehicle in one state, solved once and read at many places: where its values lie inside their tolerances is chosen, and a
//! meter's load comes out of the resistance between its leads.

use super::bench::{Bench, remember};
use super::error::SolveError;
use super::memory::Memory;
use super::netlist::Circuit;
use super::nodes::Node;
use super::severity::Placed;
use super::solving::clock::Moment;
use super::solving::network::{Network, Workspace, root};
use super::solving::prepared::in_words;
use crate::model::quantity::Quantity;
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A room to the next edge that counts as none at all, in the unit of what decides on the piece.
const NO_ROOM: f64 = 1e-12;
/// Ohms of the source of the lowest range of a meter on ohms, and its volts: the most current that such a meter sends.
const OHMS_SOURCE: (f64, f64) = (0.5, 1e3);
/// Volts below which a circuit is dead to an ohmmeter: they move what it shows by 20 nanoohm at most.
const DEAD: f64 = 1e-11;

/// The solution of a vehicle in a state, with what each node's voltage does when a current is drawn there.
#[derive(Clone, Debug, Default)]
pub struct Readout {
    phases: Vec<Phase>,
    order: Vec<usize>,
}

/// What holds for a share of the time.
#[derive(Clone, Debug, Default)]
struct Phase {
    share: f64,
    /// Unknown node voltages; also the number of the zero-volt node.
    size: usize,
    volts: Vec<f64>,
    /// Ohms: the change of each voltage for each ampere into each node.
    inverse: Vec<f64>,
    /// The island of each node.
    islands: Vec<usize>,
    /// Of each node, the share of the nearest edge's room that one ampere drawn there uses up.
    used_up: Vec<f64>,
}

/// Which moment is read of loads that come and go by themselves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Load {
    /// The moment that the clock of this vehicle has.
    AsItComes,
    /// One in which all of them are there.
    There,
    /// One in which they are gone.
    Gone,
}

impl Bench {
    /// Says which moment is read from now on.
    pub fn reads_while(&mut self, load: Load) {
        self.moment = match load {
            Load::AsItComes => Moment::Now,
            Load::There => Moment::There,
            Load::Gone => Moment::Gone,
        };
    }

    /// Puts one vehicle into a state, as if it had come there from what it remembers: its faults, and where each tolerance of
    /// [`Circuit::tolerances`] lies, as a share from 0 to 1. Solved once into `readout`; false where it finds no rest, so that
    /// each reading has to be asked of the bench itself.
    ///
    /// # Errors
    /// A state that the circuit does not know, or no solution.
    pub fn stand(
        &mut self,
        faults: &[Placed],
        shares: &Arc<[f64]>,
        memory: &Memory,
        state: &VehicleState,
        readout: &mut Readout,
    ) -> Result<bool, SolveError> {
        if self.faults != faults {
            self.faults = faults.to_vec();
        }
        if self.state != *state {
            self.state.clone_from(state);
        }
        self.chosen = Some(Arc::clone(shares));
        self.memory.clone_from(memory);
        self.look_at_the_clock()?;
        self.prepare()?;
        let (mut memory, mut blown, mut steady) = (self.memory.clone(), BTreeSet::new(), true);
        readout.phases.resize_with(self.prepared.phases.len(), Phase::default);
        for (number, (share, network)) in self.prepared.phases.iter().enumerate() {
            let solved = network.solve(&[], self.memory.contacts(number), &mut self.work);
            solved.map_err(|error| in_words(&self.circuit, error, &network.owners).in_state(state))?;
            remember(network, &self.work, number, &mut memory, &mut blown);
            steady = steady && !self.work.is_unsteady();
            let phase = &mut readout.phases[number];
            steady = steady && phase.take(*share, network, &mut self.work, &mut readout.order);
        }
        self.leave(memory, blown)?;
        Ok(steady)
    }
}

impl Phase {
    fn take(&mut self, share: f64, network: &Network, work: &mut Workspace, order: &mut Vec<usize>) -> bool {
        (self.share, self.size) = (share, network.size);
        self.volts.clone_from(&work.matrix.rhs);
        network.equations(&[], work);
        if !work.matrix.inverse(&mut self.inverse, order) {
            return false;
        }
        self.islands.clear();
        for node in 0..=network.size {
            self.islands.push(root(&mut work.groups, node));
        }
        self.used_up.clear();
        self.used_up.resize(network.size + 1, 0.0);
        let stride = network.size + 1;
        for (element, state) in network.elements.iter().zip(&work.states) {
            element.edges(*state, &network.segments, &self.volts, |row, room| {
                let room = room.max(NO_ROOM);
                for (node, used) in self.used_up.iter_mut().enumerate() {
                    let moved: f64 = row.iter().map(|(at, factor)| factor * self.inverse[at * stride + node]).sum();
                    *used = used.max(moved.abs() / room);
                }
            });
        }
        true
    }

    fn at(&self, node: Node) -> usize {
        node.checked_sub(1).unwrap_or(self.size)
    }

    /// Volts and ohms between two nodes; `None` between islands.
    fn between(&self, from: usize, to: usize) -> Option<(f64, f64)> {
        let stride = self.size + 1;
        let ohms = |row: usize, column: usize| self.inverse[row * stride + column];
        (self.islands[from] == self.islands[to]).then(|| {
            (self.volts[from] - self.volts[to], ohms(from, from) + ohms(to, to) - ohms(from, to) - ohms(to, from))
        })
    }

    /// Whether all elements stay in their pieces while so many amperes are taken out of one node and put into another.
    fn stands(&self, amperes: f64, from: usize, to: usize) -> bool {
        amperes.abs() * (self.used_up[from] + self.used_up[to]) < 1.0
    }
}

impl Readout {
    /// What a voltmeter of this resistance would show between two points, did it not err; `None` where its current may tip
    /// something over, so that it has to be solved with the meter in it.
    pub fn volts(&self, from: Node, to: Node, meter_ohms: f64) -> Option<f64> {
        let mut sum = 0.0;
        for phase in &self.phases {
            let (from, to) = (phase.at(from), phase.at(to));
            // Between islands no current flows, and the meter's resistance holds both at one voltage.
            let Some((volts, ohms)) = phase.between(from, to) else { continue };
            let loaded = volts * meter_ohms / (meter_ohms + ohms);
            if !phase.stands(loaded / meter_ohms, from, to) {
                return None;
            }
            sum += phase.share * loaded;
        }
        Some(sum)
    }

    /// What an ohmmeter would show on a dead circuit, did it not err: infinite between islands. `None` where there is a
    /// voltage, or where its current may tip something over.
    pub fn ohms(&self, from: Node, to: Node) -> Option<f64> {
        let [phase] = &self.phases[..] else { return None };
        let (from, to) = (phase.at(from), phase.at(to));
        let Some((volts, ohms)) = phase.between(from, to) else { return Some(f64::INFINITY) };
        let dead = volts.abs() < DEAD;
        (dead && phase.stands(OHMS_SOURCE.0 / (OHMS_SOURCE.1 + ohms), from, to)).then_some(ohms)
    }

    /// The value that the control module shows for a signal, by its number; nothing while it has no supply.
    pub fn signal(&self, circuit: &Circuit, number: usize) -> Option<Quantity> {
        let at = |node: Node| self.phases.iter().map(|phase| phase.share * phase.volts[phase.at(node)]).sum();
        circuit.signals[number].shown(at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::meter::bench_meter;
    use crate::circuit::sample::{Sample, fraction};
    use crate::model::vehicle::{Engine, Key};

    #[test]
    fn what_is_read_off_one_solution_is_what_the_bench_measures() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/circuits");
        let files = walkdir::WalkDir::new(folder).sort_by_file_name().into_iter();
        let files =
            files.map(|entry| entry.unwrap().into_path()).filter(|path| path.extension() == Some("toml".as_ref()));
        let (mut read, mut tipped, mut circuits) = (0, 0, 0);
        for path in files {
            #[expect(clippy::disallowed_methods, reason = "a test reads the shipped files")]
            let text = std::fs::read_to_string(&path).unwrap();
            let circuit = Arc::new(crate::circuit::file::parse(&text, &path.display().to_string()).unwrap());
            circuits += 1;
            let meter = bench_meter();
            let mut bench = Bench::new(Arc::clone(&circuit), &[], Sample::NOMINAL, meter.clone()).unwrap();
            let mut readout = Readout::default();
            for (number, fault) in circuit.faults().iter().enumerate() {
                let seed = number as u64;
                let shares: Arc<[f64]> =
                    (0..circuit.tolerances().len()).map(|index| fraction(seed, index as u64)).collect();
                let placed = [fault.placed(None).unwrap()];
                for (key, engine, apart) in [
                    (Key::Off, Engine::Stopped, false),
                    (Key::On, Engine::Stopped, false),
                    (Key::On, Engine::Running, true),
                ] {
                    let mut state = VehicleState { key, engine, ..circuit.start().clone() };
                    state
                        .unplugged
                        .extend(circuit.connectors().iter().take(usize::from(apart)).map(|one| one.id.clone()));
                    let steady = bench.stand(&placed, &shares, &Memory::default(), &state, &mut readout).unwrap();
                    if !steady {
                        continue;
                    }
                    let points = circuit.points();
                    for turn in 0..12 {
                        let pick = |turn: u64| &points[(fraction(seed, 1000 + turn) * points.len() as f64) as usize];
                        let (one, other) = (pick(2 * turn), pick(2 * turn + 1));
                        let memory = bench.memory().clone();
                        let case = format!("{} {} {key} {} {}", circuit.title, fault.id, one.id, other.id);
                        match readout.volts(one.node, other.node, 10e6) {
                            Some(volts) => {
                                let exact = bench.volts(&one.id, &other.id).unwrap().exact;
                                // Between islands it is 0 by itself, and the full solution rounds.
                                let rounds = if volts == 0.0 { 1e-3 } else { 1e-6 };
                                assert!((volts - exact).abs() < rounds, "{case}: {volts} against {exact}");
                                read += 1;
                            }
                            None => tipped += 1,
                        }
                        bench.remember(memory.clone()).unwrap();
                        if let (Key::Off, Some(ohms)) = (key, readout.ohms(one.node, other.node)) {
                            let exact = bench.ohms(&one.id, &other.id).unwrap().exact;
                            let near = (ohms - exact).abs() <= 1e-6 * exact.abs() + 1e-6;
                            assert!(
                                near || ohms == exact || ohms > 1e9 && exact > 1e9,
                                "{case}: {ohms} against {exact}"
                            );
                            read += 1;
                        }
                        bench.remember(memory).unwrap();
                    }
                }
            }
        }
        assert!(
            circuits >= 13 && read > 5000 && tipped * 10 < read,
            "{read} read, {tipped} tipped, {circuits} circuits"
        );
    }
}
