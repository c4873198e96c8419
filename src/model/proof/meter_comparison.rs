//! Two meters held against each other: whether what was proven with one holds with the other.

use crate::model::dimension::Dimension;
use crate::model::meter::{Function, Meter, Range};
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use std::collections::{BTreeMap, BTreeSet};

/// How a meter stands against another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Compared {
    /// It is at least as accurate wherever both have ranges.
    AsGood,
    /// It is less accurate with these functions, or loads the circuit more.
    Worse(BTreeSet<Function>),
    /// For some unit it says nothing of its accuracy.
    NotKnown,
}

/// Just above a range's full scale, where a meter goes to its next one.
const JUST_ABOVE: f64 = 1.0 + 1e-9;
/// By how much an accuracy may differ before it counts: no more than rounding.
const ROUNDING: f64 = 1.0 + 1e-6;

/// Holds a meter against another for readings in these units: where limits decide, else wherever both have ranges.
pub fn compare(meter: &Meter, other: &Meter, limits: &BTreeMap<String, Vec<f64>>) -> Compared {
    let mut worse = BTreeSet::new();
    let mut known: BTreeMap<&str, bool> = BTreeMap::new();
    for (function, dimension) in functions(other) {
        let Some(unit) = Unit::exact(dimension).map(Unit::word_without_prefix) else { continue };
        let Some(limits) = limits.get(unit) else { continue };
        let at = if limits.is_empty() { corners(meter, other, function, dimension) } else { limits.clone() };
        let worst = |meter: &Meter, reading| Some(meter.range_for(function, reading)?.worst_case(reading).si());
        let readings = at.into_iter().map(|at| Quantity::new(at, dimension));
        let both: Vec<(f64, f64)> =
            readings.filter_map(|reading| Some((worst(meter, reading)?, worst(other, reading)?))).collect();
        *known.entry(unit).or_default() |= !both.is_empty();
        let loads = function == Function::Volts && meter.input_resistance.si() * ROUNDING < other.input_resistance.si();
        if both.iter().any(|(mine, its)| *mine > its * ROUNDING) || loads && !both.is_empty() {
            worse.insert(function);
        }
    }
    match worse.is_empty() {
        false => Compared::Worse(worse),
        true if known.values().all(|known| *known) => Compared::AsGood,
        true => Compared::NotKnown,
    }
}

/// The functions of a meter, each once.
fn functions(meter: &Meter) -> Vec<(Function, Dimension)> {
    let mut functions: Vec<_> =
        meter.ranges.iter().map(|range| (range.function, range.full_scale.dimension())).collect();
    functions.sort_by_key(|(function, _)| *function);
    functions.dedup();
    functions
}

/// Zero, each full scale and just above it. Between these the accuracy of both meters is a straight line, so that nothing is missed.
fn corners(meter: &Meter, other: &Meter, function: Function, dimension: Dimension) -> Vec<f64> {
    let of = |range: &&Range| range.function == function && range.full_scale.dimension() == dimension;
    let ends = meter.ranges.iter().chain(&other.ranges).filter(of).map(|range| range.full_scale.si());
    std::iter::once(0.0).chain(ends.flat_map(|end| [end, end * JUST_ABOVE])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meter(ranges: &[(Function, &str, &str, f64, f64)]) -> Meter {
        let range = |(function, full_scale, resolution, percent, counts): &(Function, &str, &str, f64, f64)| Range {
            function: *function,
            full_scale: full_scale.parse().unwrap(),
            resolution: resolution.parse().unwrap(),
            percent: *percent,
            counts: *counts,
            lowest_hertz: None,
            highest_hertz: None,
        };
        Meter {
            id: "m".to_owned(),
            name: "M".to_owned(),
            calibration_due: None,
            input_resistance: Quantity::ohms(10e6),
            ranges: ranges.iter().map(range).collect(),
        }
    }

    fn units(units: &[&str]) -> BTreeMap<String, Vec<f64>> {
        units.iter().map(|unit| ((*unit).to_owned(), vec![])).collect()
    }

    #[test]
    fn a_meter_is_worse_where_it_errs_more_anywhere() {
        let other = meter(&[
            (Function::Volts, "6 V", "1 mV", 0.5, 2.0),
            (Function::Volts, "60 V", "10 mV", 0.5, 2.0),
            (Function::Ohms, "600 ohm", "0.1 ohm", 1.0, 2.0),
        ]);
        let volts = units(&["V"]);
        assert_eq!(compare(&other, &other, &units(&["V", "ohm"])), Compared::AsGood);
        // At 12 V 52 mV against 80 mV, better; at 1 V 13.5 mV against 7 mV, worse.
        let coarse = meter(&[(Function::Volts, "20 V", "10 mV", 0.35, 1.0)]);
        let at = |limit: f64| BTreeMap::from([("V".to_owned(), vec![limit])]);
        assert_eq!(compare(&coarse, &other, &volts), Compared::Worse(BTreeSet::from([Function::Volts])));
        assert_eq!(compare(&coarse, &other, &at(1.0)), Compared::Worse(BTreeSet::from([Function::Volts])));
        assert_eq!(compare(&coarse, &other, &at(12.0)), Compared::AsGood);
        assert_eq!(compare(&coarse, &other, &at(30.0)), Compared::NotKnown);
        let better = meter(&[(Function::Volts, "60 V", "1 mV", 0.1, 2.0)]);
        assert_eq!(compare(&better, &other, &volts), Compared::AsGood);
        assert_eq!(compare(&better, &other, &units(&["V", "ohm"])), Compared::NotKnown);
        let loading = Meter { input_resistance: Quantity::ohms(1e6), ..better };
        assert_eq!(compare(&loading, &other, &volts), Compared::Worse(BTreeSet::from([Function::Volts])));
        let ohms = meter(&[(Function::Ohms, "600 ohm", "0.1 ohm", 1.0, 3.0)]);
        assert_eq!(compare(&ohms, &other, &units(&["ohm"])), Compared::Worse(BTreeSet::from([Function::Ohms])));
    }
}
