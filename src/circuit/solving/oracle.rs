//! What a solution is held against: every combination of pieces, every set of contacts, and the laws themselves.

use super::clock::{Clock, Moment};
use super::element::{Drive, Element, ON, Pull, segments_through};
use super::network::{Network, NetworkError, Owner, Workspace};
use super::path::Path;
use super::prepared::{Situation, prepare};
use crate::circuit::memory::{Contacts, Memory};
use crate::circuit::sample::Sample;
use crate::model::vehicle::{Engine, Key, VehicleState};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeSet;

/// Combinations of pieces that are tried at most.
const MOST_COMBINATIONS: usize = 200_000;
/// Contacts and outputs of which every set is tried at most.
const MOST_CONTACTS: usize = 12;

impl Network {
    /// Why the last solution breaks a law, if it does.
    fn breaks(&self, work: &mut Workspace) -> Option<String> {
        let steady = work.cycle.is_empty();
        let turns = if steady { vec![(work.states.clone(), work.volts().to_vec())] } else { vec![] };
        let cycle = work.cycle.iter().map(|turn| (turn.states.clone(), turn.volts.clone()));
        for (states, volts) in turns.into_iter().chain(cycle.collect::<Vec<_>>()) {
            work.states.clone_from(&states);
            self.equations(&[], work);
            let (mut sums, mut largest) = (vec![0.0; volts.len()], 0.0_f64);
            for (element, state) in self.elements.iter().zip(&states) {
                element.leaving(*state, &self.segments, &volts, &mut sums);
                largest = largest.max(element.amperes(*state, &self.segments, &volts).abs());
                let moves = steady || element.has_pieces();
                if moves && self.next(element, *state, &mut work.groups, &volts, 1e-9) != *state {
                    return Some(format!("{element:?} is beyond its state {state}"));
                }
                if steady && element.overload(*state, &volts) >= 1.0 {
                    return Some(format!("{element:?} is overloaded and whole"));
                }
            }
            let left = sums[..self.size].iter().map(|sum| sum.abs()).fold(0.0, f64::max);
            // Volts have sixteen digits: across a milliohm the last one is some ten picoamperes.
            if left > 1e-9 * largest.max(0.1) {
                return Some(format!("{left:e} A are left over beside {largest:e} A"));
            }
        }
        None
    }

    /// The solutions over all combinations of pieces, with the fuses as they are in `states`; nothing where there are too many.
    fn by_combinations(&self, fuses: &[u8]) -> Option<Vec<Vec<f64>>> {
        let own = |(element, fuse): (&Element, &u8)| -> Vec<u8> {
            match element {
                Element::Fuse { .. } => vec![*fuse],
                Element::Conductance { .. } | Element::Source { .. } => vec![0],
                _ => element.every_state(),
            }
        };
        let choices: Vec<Vec<u8>> = self.elements.iter().zip(fuses).map(own).collect();
        let all = choices.iter().try_fold(1usize, |all, own| all.checked_mul(own.len()))?;
        if all > MOST_COMBINATIONS {
            return None;
        }
        let (mut work, mut found) = (Workspace::default(), Vec::new());
        for mut number in 0..all {
            work.states.clear();
            for own in &choices {
                work.states.push(own[number % own.len()]);
                number /= own.len();
            }
            self.equations(&[], &mut work);
            if self.eliminate(&mut work).is_err() {
                continue;
            }
            let agrees = self.elements.iter().zip(&work.states).all(|(element, state)| {
                self.next(element, *state, &mut work.groups, &work.matrix.rhs, 1e-11) == *state
            });
            if agrees && !found.iter().any(|other: &Vec<f64>| same(other, work.volts())) {
                found.push(work.volts().to_vec());
            }
        }
        Some(found)
    }

    /// The solutions over all sets of contacts and outputs, the rest followed; nothing where there are too many.
    fn by_contacts(&self, fuses: &[u8]) -> Option<Vec<Vec<f64>>> {
        let mut movers: Vec<usize> = Vec::new();
        for (number, element) in self.elements.iter().enumerate() {
            let moves_with_it = |other: &usize| self.owners[*other] == self.owners[number];
            if element.is_contact() && !movers.iter().any(moves_with_it) {
                movers.push(number);
            }
        }
        if movers.len() > MOST_CONTACTS {
            return None;
        }
        let (mut work, mut path, mut found) = (Workspace::default(), Path::default(), Vec::new());
        for set in 0..1usize << movers.len() {
            let on: BTreeSet<Owner> = movers
                .iter()
                .enumerate()
                .filter(|(bit, _)| set >> bit & 1 == 1)
                .map(|(_, n)| self.owners[*n])
                .collect();
            work.states.clear();
            work.states.extend(self.elements.iter().zip(&self.owners).zip(fuses).map(|((element, owner), fuse)| {
                match element {
                    Element::Fuse { .. } => *fuse,
                    _ if element.is_contact() && on.contains(owner) => ON,
                    _ => element.initial(&self.segments),
                }
            }));
            self.follow(&[], &mut work.states, &mut path);
            if self.correct(&[], &mut work).is_ok() && self.most_displaced(&work).is_none() {
                found.push(work.volts().to_vec());
            }
        }
        Some(found)
    }
}

fn same(one: &[f64], other: &[f64]) -> bool {
    one.iter().zip(other).all(|(a, b)| (a - b).abs() < 1e-6 * (1.0 + a.abs()))
}

/// A random network; with relays and outputs where `contacts`.
fn random_network(seed: u64, contacts: bool) -> Network {
    let mut random = StdRng::seed_from_u64(seed);
    let size = random.random_range(3..=9);
    let mut network = Network { size, ..Network::default() };
    let mut owner = 0;
    let mut push = |network: &mut Network, element: Element| {
        network.push(Owner::Part(owner), element);
        owner += 1;
    };
    let two = |random: &mut StdRng| {
        let from = random.random_range(0..=size);
        (from, (from + random.random_range(1..=size)) % (size + 1))
    };
    let ohms = |random: &mut StdRng| 10f64.powf(random.random_range(-2.0..5.0));
    for node in 0..size {
        let other = if node == 0 { size } else { random.random_range(0..node) };
        let siemens = 1.0 / ohms(&mut random);
        push(&mut network, Element::Conductance { a: node, b: other, siemens });
    }
    for _ in 0..random.random_range(1..=2) {
        let plus = random.random_range(0..size);
        let (volts, siemens) = (random.random_range(3.0..28.0), 10f64.powf(random.random_range(-1.0..2.0)));
        push(&mut network, Element::Source { plus, minus: size, siemens, volts });
    }
    for _ in 0..random.random_range(0..=2) {
        let (from, output) = two(&mut random);
        let ground = if random.random_bool(0.7) { size } else { random.random_range(0..size) };
        let input = random.random_bool(0.8).then_some(from);
        let (volts, siemens) = (random.random_range(2.0..14.0), 10f64.powf(random.random_range(0.0..2.0)));
        let (limit, dropout) = (10f64.powf(random.random_range(-2.5..1.5)), if input.is_some() { 0.5 } else { 0.0 });
        if output != ground && output != from && from != ground {
            push(&mut network, Element::Regulator { input, output, ground, volts, siemens, limit, dropout });
        }
    }
    for _ in 0..random.random_range(1..=3) {
        let (a, b) = two(&mut random);
        let first = network.segments.len();
        let amperes = 10f64.powf(random.random_range(-2.0..1.5));
        let points: Vec<(f64, f64)> = if random.random_bool(0.5) {
            vec![(-1.0, -1e-9), (0.55, 1e-6), (0.75, amperes)]
        } else {
            let stall = random.random_range(0.2..3.0);
            vec![(-2.0 * stall, -1.05 * amperes), (-stall, -amperes), (stall, amperes), (2.0 * stall, 1.05 * amperes)]
        };
        segments_through(&points, &mut network.segments);
        let count = network.segments.len() - first;
        push(&mut network, Element::Curve { a, b, first, count });
    }
    for _ in 0..random.random_range(0..=2) {
        let (a, b) = two(&mut random);
        let (siemens, blows) = (1.0 / random.random_range(0.003..0.03), 1.35 * random.random_range(1.0..30.0));
        push(&mut network, Element::Fuse { a, b, siemens, blows });
    }
    if contacts {
        for _ in 0..random.random_range(1..=4) {
            let ((from, to), (a, b)) = (two(&mut random), two(&mut random));
            let pulls_in = random.random_range(2.0..9.0);
            let drops_out = pulls_in * random.random_range(0.2..0.7);
            let (siemens, when_pulled) = (100.0, random.random_bool(0.7));
            push(
                &mut network,
                Element::Conductance { a: from, b: to, siemens: 1.0 / random.random_range(40.0..400.0) },
            );
            push(
                &mut network,
                Element::Contact { coil: Pull::of_coil((from, to)), pulls_in, drops_out, a, b, siemens, when_pulled },
            );
        }
        for _ in 0..random.random_range(0..=2) {
            let (supply, output) = two(&mut random);
            if supply != size && output != size {
                let (share, siemens) = (random.random_range(0.0..1.0), 1.0 / random.random_range(1.0..100.0));
                let drive = [Drive::Both, Drive::Up, Drive::Down, Drive::Amplifier][random.random_range(0..4)];
                let (ground, minimum) = (size, 3.0);
                push(&mut network, Element::Share { supply, ground, output, share, siemens, minimum, drive });
            }
        }
    }
    network
}

/// Whether each network settles, keeps the laws and is among what the oracle finds; how many were held against one and how
/// many have several solutions.
fn hold(seeds: std::ops::Range<u64>, contacts: bool) -> (usize, usize, usize) {
    let (mut held, mut several, mut unsteady) = (0, 0, 0);
    let mut work = Workspace::default();
    for seed in seeds {
        let network = random_network(seed, contacts);
        match network.solve(&[], &Contacts::new(), &mut work) {
            Ok(()) => {}
            Err(error) => panic!("seed {seed}: {error:?}"),
        }
        let (states, volts, rests) = (work.states.clone(), work.volts().to_vec(), !work.is_unsteady());
        unsteady += usize::from(!rests);
        if let Some(broken) = network.breaks(&mut work) {
            panic!("seed {seed}: {broken}");
        }
        let collapsed =
            network.elements.iter().zip(&states).any(|(e, s)| e.is_contact() && *s == super::element::COLLAPSED);
        if !rests || collapsed {
            continue;
        }
        for found in
            [network.by_combinations(&states), network.by_contacts(&states).filter(|_| contacts)].into_iter().flatten()
        {
            held += 1;
            several += usize::from(found.len() > 1);
            assert!(found.iter().any(|other| same(other, &volts)), "seed {seed}: {volts:?} is not among {found:?}");
        }
    }
    (held, several, unsteady)
}

/// How many networks: a part of them, or all where that is asked for.
fn so_many(few: u64, all: u64) -> u64 {
    #[expect(clippy::disallowed_methods, reason = "a person who has the time asks for all")]
    let wanted = std::env::var_os("OHMWRIGHT_ALL_NETWORKS").is_some();
    if wanted { all } else { few }
}

#[test]
fn networks_without_contacts_are_among_all_combinations_of_pieces() {
    let count = so_many(150, 1_000);
    let (held, several, unsteady) = hold(0..count, false);
    let counted = format!("{held} of {count} held against all combinations, {several} have several solutions");
    assert!(held as u64 > count / 2 && several < 5 && unsteady == 0, "{counted}, {unsteady} unsteady");
}

#[test]
fn networks_with_contacts_are_among_all_their_sets() {
    let count = so_many(100, 1_000);
    let (held, several, unsteady) = hold(10_000..10_000 + count, true);
    let counted = format!("of {count}, {held} held against all, {several} with several solutions, {unsteady} unsteady");
    assert!(held as u64 > count / 2 && several > 0 && unsteady > 0, "{counted}");
}

#[test]
fn shipped_circuits_settle_with_a_resistance_in_any_wire() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/circuits");
    let files = walkdir::WalkDir::new(folder).into_iter().map(|entry| entry.unwrap().into_path());
    let files = files.filter(|path| path.extension().is_some_and(|ending| ending == "toml"));
    let (mut work, mut cases, mut unsteady) = (Workspace::default(), 0, Vec::new());
    for path in files {
        #[expect(clippy::disallowed_methods, reason = "a test reads the shipped files")]
        let text = std::fs::read_to_string(&path).unwrap();
        let circuit = crate::circuit::file::parse(&text, &path.display().to_string()).unwrap();
        for (key, engine) in [(Key::Off, Engine::Stopped), (Key::On, Engine::Stopped), (Key::On, Engine::Running)] {
            let state = VehicleState { key, engine, ..circuit.start().clone() };
            let blown = BTreeSet::new();
            let situation = Situation {
                state: &state,
                faults: &[],
                sample: Sample::NOMINAL,
                chosen: None,
                blown: &blown,
                clock: &Clock::default(),
                moment: Moment::Now,
            };
            let prepared = prepare(&circuit, &situation).unwrap();
            for (number, part) in circuit.parts().iter().enumerate().filter(|(_, part)| part.word == "wire") {
                for ohms in [1.0, 10.0, 100.0, 1e3, 10e3, 100e3] {
                    for (phase, (_, network)) in prepared.phases.iter().enumerate() {
                        let mut network = network.clone();
                        add_ohms(&mut network, number, ohms);
                        let case = format!("{}, key {key}, engine {engine}, {ohms} ohm in {}", circuit.title, part.id);
                        let memory = Memory::default();
                        let solved = network.solve(&[], memory.contacts(phase), &mut work);
                        solved.unwrap_or_else(|error: NetworkError| panic!("{case}: {error:?}"));
                        cases += 1;
                        if work.is_unsteady() {
                            unsteady.push(case.clone());
                        }
                        assert_eq!(network.breaks(&mut work), None, "{case}");
                    }
                }
            }
        }
    }
    assert!(cases > 1_000 && unsteady.len() < 10, "{cases}, {unsteady:#?}");
}

#[test]
fn ohms_take_three_solutions_at_most() {
    for ohms in ["0.1", "47", "650", "4.7e3", "220e3", "3.3e6", "59e6", "99e6", "1e9"] {
        let text = format!(
            r#"title = "t"
            zero_volts = "g"
            start = {{ key = "off" }}
            point = [{{ id = "a" }}, {{ id = "b" }}, {{ id = "g" }}]
            part = [
              {{ id = "one", kind = "resistor", from = "a", to = "b", resistance = "{ohms} ohm ± 0 %" }},
              {{ id = "other", kind = "resistor", from = "b", to = "g", resistance = "1 kohm" }},
            ]"#
        );
        let circuit = crate::circuit::file::parse(&text, "t").unwrap();
        let meter = crate::circuit::meter::bench_meter();
        let mut bench = crate::circuit::bench::Bench::new(circuit.into(), &[], Sample::NOMINAL, meter).unwrap();
        let before = bench.work.rounds;
        let reading = bench.ohms("a", "b").unwrap();
        assert!(bench.work.rounds - before <= 3, "{ohms} ohm: {}", bench.work.rounds - before);
        let ohms: f64 = ohms.parse().unwrap();
        let is_open = reading.shown == crate::circuit::meter::Shown::OverRange;
        assert!(if ohms > 60e6 { is_open } else { (reading.exact / ohms - 1.0).abs() < 1e-6 }, "{reading:?}");
    }
}

fn add_ohms(network: &mut Network, part: usize, ohms: f64) {
    for (element, owner) in network.elements.iter_mut().zip(&network.owners) {
        if let (Element::Conductance { siemens, .. }, true) = (element, *owner == Owner::Part(part)) {
            *siemens = 1.0 / (1.0 / *siemens + ohms);
        }
    }
}
