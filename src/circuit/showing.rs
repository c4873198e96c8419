//! Whether a fault shows on a vehicle, and how plainly.

use super::bench::Bench;
use super::error::SolveError;
use super::fault::Fault;
use super::meter::ranges;
use super::netlist::Circuit;
use super::sample::Sample;
use super::shows::{Complaint, Shows, What};
use super::signal::Signal;
use super::solution::Solution;
use crate::model::meter::{Function, Meter};
use crate::model::quantity::Quantity;
use std::ops::Range;
use std::sync::Arc;

/// How plainly a fault shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Plain {
    /// No driver notices anything.
    Hidden,
    /// It shows, by no more than the meter may err.
    AtTheLimit,
    /// It shows.
    Showing,
}

/// The lowest and the highest value that is seen, each with how far the meter may err; `None` where a module shows nothing.
type Seen = Option<[(f64, f64); 2]>;

impl Complaint {
    /// The lowest and the highest value that is seen, and how far the meter may err there; `None` where a module shows nothing.
    /// They differ where the circuit finds no rest.
    ///
    /// # Errors
    /// Where the circuit can't be solved.
    fn seen(&self, circuit: &Circuit, bench: &mut Bench, meter: &Meter) -> Result<Seen, SolveError> {
        Ok(match self.what {
            What::Volts(from, to) => {
                let span = bench.solution()?.between(from, to);
                Some([span.lowest, span.highest].map(|volts| (volts, accuracy(meter, Function::Volts, volts))))
            }
            What::AcVolts(from, to) => {
                let volts = bench.true_ac_volts(from, to)?;
                Some([(volts, accuracy(meter, Function::AcVolts, volts)); 2])
            }
            What::Amperes(part) => {
                let amperes = bench.solution()?.through(part);
                Some([(amperes, accuracy(meter, Function::Amperes, amperes)); 2])
            }
            What::Signal(number) => signal_seen(&circuit.signals[number], &bench.solution()?, meter),
        })
    }

    /// Of two ends the plainer one.
    fn plain(&self, seen: Seen) -> Plain {
        let Some(ends) = seen else { return Plain::Showing };
        ends.into_iter().map(|(value, errs)| self.plain_at(value, errs)).max().unwrap_or(Plain::Hidden)
    }

    fn plain_at(&self, value: f64, errs: f64) -> Plain {
        let by = |limit: Option<f64>, sign: f64| limit.map_or(f64::NEG_INFINITY, |limit| (value - limit) * sign);
        match by(self.below, -1.0).max(by(self.above, 1.0)) {
            by if by > errs => Plain::Showing,
            by if by > 0.0 => Plain::AtTheLimit,
            _ => Plain::Hidden,
        }
    }
}

/// What a module shows of its signal at a solution, as `Complaint::seen`.
fn signal_seen(signal: &Signal, solution: &Solution, meter: &Meter) -> Seen {
    let (lowest, highest) = solution.shown(signal)?;
    let volts = solution.node(signal.point) - solution.node(signal.ground);
    let errs = accuracy(meter, Function::Volts, volts);
    let at = |more: f64| {
        let node = |node| solution.node(node) + if node == signal.point { more } else { 0.0 };
        signal.shown(node).map(Quantity::si)
    };
    let value = at(0.0)?;
    let apart = |other: Option<f64>| other.map_or(0.0, |other| (other - value).abs());
    let errs = apart(at(errs)).max(apart(at(-errs)));
    Some([(lowest.si(), errs), (highest.si(), errs)])
}

/// How far the meter may err on a value, on the lowest range that holds it.
fn accuracy(meter: &Meter, function: Function, value: f64) -> f64 {
    let ranges = ranges(meter, function);
    let fitting = ranges.iter().find(|(_, range)| value.abs() <= range.full_scale.si()).or(ranges.last());
    fitting.map_or(0.0, |(_, range)| value.abs() * range.percent / 100.0 + range.counts * range.resolution.si())
}

impl Circuit {
    /// Whether the circuit says when a driver notices a fault, or this fault does.
    pub fn shows_of<'a>(&'a self, fault: Option<&'a Fault>) -> Option<&'a Shows> {
        fault.and_then(|fault| fault.shows.as_ref()).or(self.shows.as_ref())
    }
}

/// How plainly a fault (or the healthy vehicle, without one) shows at a severity in SI units, on true values, on the vehicle of
/// this sample; the meter says what is at the limit. Where neither the circuit nor the fault says when it shows, a fault
/// always shows and a healthy vehicle never.
///
/// # Errors
/// What the circuit can't be asked, and a severity that the fault can't have.
pub fn shown(
    circuit: &Arc<Circuit>,
    fault: Option<&Fault>,
    severity: Option<f64>,
    sample: Sample,
    meter: &Meter,
) -> Result<Plain, SolveError> {
    let Some(shows) = circuit.shows_of(fault) else {
        return Ok(if fault.is_some() { Plain::Showing } else { Plain::Hidden });
    };
    let placed = fault.map(|fault| fault.placed(severity)).transpose()?;
    let mut bench = Bench::with(Arc::clone(circuit), placed.into_iter().collect(), sample, meter.clone())?;
    let mut plainest = Plain::Hidden;
    for complaint in &shows.complaints {
        for state in &complaint.states {
            bench.set_state(state)?;
            plainest = plainest.max(complaint.plain(complaint.seen(circuit, &mut bench, meter)?));
            if plainest == Plain::Showing {
                return Ok(plainest);
            }
        }
    }
    Ok(plainest)
}

/// The first of `of` healthy vehicles that shows what only a faulty one should: its number, from 1, and the bytes of the circuit
/// file that say when a fault shows. A proof begins with it.
///
/// # Errors
/// Where the circuit can't be solved.
pub fn healthy_one_that_shows(
    circuit: &Arc<Circuit>,
    of: u64,
    seed: u64,
    meter: &Meter,
) -> Result<Option<(u64, Range<usize>)>, SolveError> {
    let own = circuit.faults.iter().filter_map(|fault| fault.shows.as_ref());
    let all: Vec<&Complaint> = circuit.shows.iter().chain(own).flat_map(|shows| &shows.complaints).collect();
    if all.is_empty() {
        return Ok(None);
    }
    for vehicle in 1..=of {
        let sample = Sample::of_vehicle(seed, vehicle);
        let mut bench = Bench::with(Arc::clone(circuit), vec![], sample, meter.clone())?;
        for complaint in &all {
            for state in &complaint.states {
                bench.set_state(state)?;
                if complaint.plain(complaint.seen(circuit, &mut bench, meter)?) > Plain::Hidden {
                    return Ok(Some((vehicle, complaint.span.clone())));
                }
            }
        }
    }
    Ok(None)
}
