//! The reading of a meter for the value at its leads.

use super::sample::Sample;
use super::solving::span::Span;
use crate::model::dimension::Dimension;
use crate::model::meter::{Function, Meter, Range};
use crate::model::quantity::Quantity;
use crate::model::typed;
use crate::model::unit::Unit;

/// The display.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Shown {
    /// A number.
    Value(Quantity),
    /// It does not rest: the circuit goes round between sets of contacts.
    Unsteady {
        /// Lowest number over the cycle.
        lowest: Quantity,
        /// Highest number over the cycle.
        highest: Quantity,
    },
    /// `OL`: above the highest range; on ohms, open.
    OverRange,
    /// Nothing: a module without a supply, a signal that does not switch.
    Nothing,
}

/// One reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// The display.
    pub shown: Shown,
    /// What would stand there if the meter did not err or round; the load that it puts on the circuit is in it. Of a reading
    /// that does not rest, the mean.
    pub exact: f64,
    /// The range that it was taken on; `None` where none fits.
    pub range: Option<Range>,
    /// On ohms and diode: whether there was a voltage at the leads already, so that the number means nothing.
    pub live: bool,
}

/// Voltage of an ohms range between open leads.
const OHMS_OPEN_VOLTS: f64 = 0.5;

/// A bench meter: 6000 counts, 10 MΩ on volts. Its figures are invented, in the usual class of a shop's multimeter.
pub fn bench_meter() -> Meter {
    let range = |function, dimension, full_scale: f64, counts: f64, percent| Range {
        function,
        full_scale: Quantity::new(full_scale, dimension),
        resolution: Quantity::new(full_scale / 6000.0, dimension),
        percent,
        counts,
        lowest_hertz: None,
        highest_hertz: None,
    };
    let mut ranges = Vec::new();
    for full_scale in [0.6, 6.0, 60.0, 600.0] {
        ranges.push(range(Function::Volts, Dimension::VOLTAGE, full_scale, 2.0, 0.5));
    }
    for full_scale in [600.0, 6e3, 60e3, 600e3, 6e6, 60e6] {
        let percent = if full_scale > 1e6 { 1.5 } else { 0.8 };
        ranges.push(range(Function::Ohms, Dimension::RESISTANCE, full_scale, 2.0, percent));
    }
    // In line up to 6 A; above that round the cable, without a burden.
    for full_scale in [0.06, 0.6, 6.0] {
        ranges.push(range(Function::Amperes, Dimension::CURRENT, full_scale, 3.0, 1.0));
    }
    for full_scale in [60.0, 600.0, 3000.0] {
        ranges.push(range(Function::Amperes, Dimension::CURRENT, full_scale, 3.0, 1.5));
    }
    ranges.push(range(Function::Diode, Dimension::VOLTAGE, 3.0, 2.0, 1.0));
    for full_scale in [60.0, 600.0, 6e3, 60e3] {
        ranges.push(range(Function::Hertz, Dimension::FREQUENCY, full_scale, 2.0, 0.1));
    }
    ranges.push(Range {
        function: Function::Duty,
        full_scale: Quantity::ratio(1.0),
        resolution: Quantity::ratio(0.001),
        percent: 0.5,
        counts: 2.0,
        lowest_hertz: None,
        highest_hertz: None,
    });
    let hertz = |hertz| Some(Quantity::new(hertz, Dimension::FREQUENCY));
    for full_scale in [0.6, 6.0, 60.0, 600.0] {
        let ac_volts = range(Function::AcVolts, Dimension::VOLTAGE, full_scale, 3.0, 1.0);
        ranges.push(Range { lowest_hertz: hertz(40.0), highest_hertz: hertz(2e3), ..ac_volts });
    }
    Meter {
        id: "bench".to_owned(),
        name: "bench meter".to_owned(),
        calibration_due: None,
        input_resistance: Quantity::ohms(10e6),
        ranges,
    }
}

/// Resistance that an ammeter's range puts in line, in ohms: 1 Ω on the low ranges, 10 mΩ up to 10 A; a clamp has none.
pub(super) fn burden(full_scale: f64) -> f64 {
    match full_scale {
        low if low < 1.0 => 1.0,
        middle if middle <= 20.0 => 0.01,
        _ => 0.0,
    }
}

/// Source of an ohms range: open-circuit volts and source ohms. Half a volt, so that no diode conducts; the meter compares the
/// voltage at its leads with that across its own resistor, which makes the reading right for any plain resistance.
pub(super) fn ohms_source(full_scale: f64) -> (f64, f64) {
    (OHMS_OPEN_VOLTS, (full_scale * 1.5).clamp(1e3, 10e6))
}

/// Source of the diode test: open-circuit volts and source ohms, about 1 mA into a short.
pub(super) const DIODE_SOURCE: (f64, f64) = (3.2, 3.2e3);

/// Volts from peak to peak below which a meter's counter does not trigger.
pub(super) const TRIGGERS: f64 = 1.0;

/// Ranges of a function, lowest first.
pub(super) fn ranges(meter: &Meter, function: Function) -> Vec<(usize, &Range)> {
    let mut ranges: Vec<_> = meter.ranges.iter().enumerate().filter(|(_, range)| range.function == function).collect();
    ranges.sort_by(|a, b| a.1.full_scale.si().total_cmp(&b.1.full_scale.si()));
    ranges
}

/// The display on one range: the meter's own error inside its promised worst case, the same each time on the same range, then
/// rounded to its counts.
pub(super) fn shown(range: &Range, number: usize, exact: f64, sample: Sample) -> Shown {
    let index = number as u64 * 2;
    let counts = range.resolution.si();
    let erring = exact
        + exact.abs() * range.percent / 100.0 * sample.error(index)
        + counts * range.counts * sample.error(index + 1);
    // Rounding moves it by up to half a count; the promise covers that too.
    let worst = exact.abs() * range.percent / 100.0 + counts * range.counts;
    let rounded = (erring / counts).round() * counts;
    let kept =
        if (rounded - exact).abs() > worst.max(counts / 2.0) { (exact / counts).round() * counts } else { rounded };
    if kept.abs() > range.full_scale.si() * (1.0 + 1e-9) {
        return Shown::OverRange;
    }
    Shown::Value(range.full_scale.with_si(if kept == 0.0 { 0.0 } else { kept }))
}

impl Reading {
    /// As it stands on the display: `4.982 V`, `OL`, `—`.
    ///
    /// ```
    /// use ohmwright::circuit::meter::{Reading, Shown, bench_meter};
    /// use ohmwright::model::quantity::Quantity;
    /// let reading = Reading { shown: Shown::Value(Quantity::volts(4.9)), exact: 4.9, live: false,
    ///     range: bench_meter().ranges.get(1).cloned() };
    /// assert_eq!(reading.text(), "4.900 V");
    /// ```
    pub fn text(&self) -> String {
        match self.shown {
            Shown::OverRange => "OL".to_owned(),
            Shown::Nothing => "—".to_owned(),
            Shown::Value(value) => self.number(value),
            Shown::Unsteady { lowest, highest } => typed::range(&self.number(lowest), &self.number(highest)),
        }
    }

    /// Itself; of one that does not rest, its lowest and its highest.
    pub fn ends(&self) -> Vec<Self> {
        match self.shown {
            Shown::Unsteady { lowest, highest } => {
                [lowest, highest].map(|value| Self { shown: Shown::Value(value), ..self.clone() }).into()
            }
            _ => vec![self.clone()],
        }
    }

    /// A number on this range's display.
    fn number(&self, value: Quantity) -> String {
        let unit = |range: &Range| range.full_scale.natural_unit().or_else(|| Unit::of(value.dimension()));
        match self.range.as_ref().and_then(|range| Some((range, unit(range)?))) {
            Some((range, unit)) => {
                let decimals = (-unit.number(range.resolution).log10()).ceil().clamp(0.0, 6.0) as usize;
                unit.with_symbol(&format!("{:.decimals$}", unit.number(value)))
            }
            None => value.to_string(),
        }
    }
}

/// The display on one range of what may not rest. What rounds to one number rests.
pub(super) fn shown_of(range: &Range, number: usize, exact: Span, sample: Sample) -> Shown {
    let highest = shown(range, number, exact.highest, sample);
    if exact.lowest.to_bits() == exact.highest.to_bits() {
        return highest;
    }
    match (shown(range, number, exact.lowest, sample), highest) {
        (Shown::Value(lowest), Shown::Value(highest)) if lowest.si() == highest.si() => Shown::Value(lowest),
        (Shown::Value(lowest), Shown::Value(highest)) => Shown::Unsteady { lowest, highest },
        _ => Shown::OverRange,
    }
}
