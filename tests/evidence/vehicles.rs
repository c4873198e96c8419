//! Circuits, the readings of a whole diagnosis, and vehicles that give them, solved with the meter in the circuit each time.

use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::file::parse;
use ohmwright::circuit::memory::Memory;
use ohmwright::circuit::meter::{Shown, bench_meter};
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::readout::Readout;
use ohmwright::circuit::sample::Sample;
use ohmwright::evidence::candidate::Candidate;
use ohmwright::evidence::held::Reading;
use ohmwright::evidence::reading::Says;
use ohmwright::evidence::rival::Rival;
use ohmwright::evidence::table::{Cell, Step, Table};
use ohmwright::model::meter::{Function, Meter};
use ohmwright::model::vehicle::{Key, VehicleState};
use std::sync::Arc;

/// The text of a shipped circuit.
pub fn text(name: &str) -> String {
    let path = format!("{}/procedures/circuits/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap()
}

/// A circuit.
pub fn circuit(text: &str) -> Arc<Circuit> {
    Arc::new(parse(text, "a circuit").unwrap())
}

/// Numbers from 0 to 1, the same in each run: splitmix64.
pub struct Numbers(pub u64);

impl Numbers {
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.next() * count as f64) as usize
    }
}

/// One state of the vehicle after the other, with what is read in each.
pub type Diagnosis = Vec<(VehicleState, Vec<Candidate>)>;

/// Every reading that the shipped procedure for the flap sensor takes and some more; the circuit may have other names for its
/// connectors.
pub fn of_the_flap_sensor(circuit: &Circuit, [sensor, module]: [&str; 2]) -> Diagnosis {
    let across =
        |function, red: &str, black: &str| Candidate::Across { function, red: red.into(), black: black.into() };
    let volts = |(red, black): &(&str, &str)| across(Function::Volts, red, black);
    let ohms = |(red, black): &(&str, &str)| across(Function::Ohms, red, black);
    let shown = || Candidate::Module { signal: "flap_position".to_owned() };
    let off = circuit.start().clone();
    let on = VehicleState { key: Key::On, ..off.clone() };
    let at = |state: &VehicleState, position: &str| {
        let mut state = state.clone();
        state.positions.insert("flap".to_owned(), position.to_owned());
        state
    };
    let apart = |state: &VehicleState, connectors: &[&str]| {
        let mut state = state.clone();
        state.unplugged.extend(connectors.iter().map(|name| (*name).to_owned()));
        state
    };
    let mated = [
        ("battery_positive", "battery_negative"),
        ("reference", "ground"),
        ("signal", "ground"),
        ("reference", "chassis"),
        ("ground", "battery_negative"),
        ("module_reference", "module_ground"),
        ("module_reference", "reference"),
        ("ground", "module_ground"),
        ("module_signal", "module_ground"),
        ("module_power", "module_power_ground"),
        ("module_power_ground", "battery_negative"),
        ("battery_positive", "module_power"),
        ("other_sensor_reference", "other_sensor_ground"),
    ];
    let moved = [("signal", "ground"), ("module_signal", "module_ground"), ("signal", "module_signal")];
    let open = [("reference", "ground"), ("reference", "chassis"), ("signal", "chassis"), ("ground", "chassis")];
    let dead = [
        ("reference", "module_reference"),
        ("ground", "module_ground"),
        ("signal", "module_signal"),
        ("reference", "ground"),
        ("signal", "reference"),
        ("signal", "chassis"),
        ("signal", "ground"),
    ];
    let with_shown = |pairs: &[(&str, &str)]| pairs.iter().map(volts).chain([shown()]).collect::<Vec<_>>();
    vec![
        (off.clone(), mated[..1].iter().map(volts).collect()),
        (on.clone(), with_shown(&mated)),
        (at(&on, "half"), with_shown(&moved)),
        (at(&on, "closed"), with_shown(&moved)),
        (apart(&on, &[sensor]), open.iter().map(volts).collect()),
        (apart(&off, &[sensor, module]), dead.iter().map(ohms).collect()),
    ]
}

/// The cells of a diagnosis in a table, in order.
pub fn cells(table: &mut Table, diagnosis: &Diagnosis) -> Vec<Cell> {
    let (mut column, mut cells) = (0, Vec::new());
    for (state, candidates) in diagnosis {
        column = table.step(column, Step::Put(state.clone()));
        cells.extend(candidates.iter().map(|candidate| table.cell(column, candidate).unwrap()));
    }
    cells
}

/// A vehicle of a rival: how bad the fault is, where each tolerance lies, and which way the meter errs.
#[derive(Clone, Debug)]
pub struct Vehicle {
    pub severity: f64,
    pub shares: Vec<f64>,
    pub errs: f64,
}

impl Vehicle {
    /// By turns one with each part at an end of its tolerance and one with each anywhere.
    pub fn drawn(circuit: &Circuit, number: usize, numbers: &mut Numbers) -> Self {
        let shares = circuit.tolerances().iter().map(|_| numbers.next());
        let shares = shares.map(|share| if number.is_multiple_of(2) { share.round() } else { share }).collect();
        let errs = if numbers.next() < 0.5 { -1.0 } else { 1.0 };
        Self { severity: numbers.next(), shares, errs }
    }
}

/// A reading of this vehicle by a meter that errs as far as its manufacturer allows; `None` where the module shows nothing.
/// `meanwhile` may change a vehicle before each reading.
pub fn readings(
    circuit: &Arc<Circuit>,
    rival: &Rival,
    vehicle: &Vehicle,
    diagnosis: &Diagnosis,
    meanwhile: impl Fn(usize, &mut Vec<f64>),
) -> Vec<Option<Says>> {
    let meter = bench_meter();
    let mut bench = Bench::new(Arc::clone(circuit), &[], Sample::NOMINAL, meter.clone()).unwrap();
    let placed = rival.placed(vehicle.severity).unwrap();
    let (mut shares, mut says, mut readout) = (vehicle.shares.clone(), Vec::new(), Readout::default());
    for (state, candidates) in diagnosis {
        for candidate in candidates {
            meanwhile(says.len(), &mut shares);
            let memory = if says.is_empty() { Memory::default() } else { bench.memory().clone() };
            bench.stand(&placed, &shares.as_slice().into(), &memory, state, &mut readout).unwrap();
            says.push(read(&mut bench, candidate, &meter, vehicle.errs));
        }
    }
    says
}

fn read(bench: &mut Bench, candidate: &Candidate, meter: &Meter, errs: f64) -> Option<Says> {
    let exact = match candidate {
        Candidate::Across { function: Function::Volts, red, black } => bench.volts(red, black).unwrap().exact,
        Candidate::Across { function: Function::Ohms, red, black } => bench.ohms(red, black).unwrap().exact,
        Candidate::Module { signal } => {
            let Shown::Value(value) = bench.module_shows(signal).unwrap() else { return None };
            // Four digits are shown.
            let digit = if value.si() == 0.0 { 1e-6 } else { 10f64.powf(value.si().abs().log10().floor() - 3.0) };
            return Some(Says::of_number(None, None, (value.si() / digit).round() * digit, digit / 2.0));
        }
        other => panic!("{other:?} is not read here"),
    };
    let function = candidate.function().unwrap();
    let mut ranges: Vec<_> = meter.ranges.iter().filter(|range| range.function == function).collect();
    ranges.sort_by(|a, b| a.full_scale.si().total_cmp(&b.full_scale.si()));
    for range in ranges {
        let digit = range.resolution.si();
        let erring = exact + errs * (exact.abs() * range.percent / 100.0 + range.counts * digit);
        let shown = (erring / digit).round() * digit;
        if shown.abs() <= range.full_scale.si() {
            return Some(Says::of_number(Some(meter), Some(function), shown, digit / 2.0));
        }
    }
    Some(Says::over_range(Some(meter), Some(function), false))
}

/// Readings as they are held against rivals: those that show nothing are left out.
pub fn numbered(cells: &[Cell], says: &[Option<Says>]) -> Vec<Reading> {
    let taken = cells.iter().zip(says).enumerate();
    taken
        .filter_map(|(place, (cell, says))| Some(Reading { number: place + 1, cells: vec![*cell], says: (*says)? }))
        .collect()
}
