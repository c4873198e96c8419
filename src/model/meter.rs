//! A multimeter's accuracy: what its manufacturer promises, per range.

use super::quantity::Quantity;
use serde::{Deserialize, Serialize};

pub mod assumed;

/// A meter's function.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Function {
    /// Direct voltage.
    Volts,
    /// Direct current, meter in line.
    Amperes,
    /// Resistance, on a dead circuit.
    Ohms,
    /// Diode test.
    Diode,
    /// Frequency.
    Hertz,
    /// Duty.
    Duty,
    /// Temperature with a probe.
    Temperature,
    /// Time, of a pulse.
    Time,
    /// Alternating voltage, true RMS without what is direct.
    AcVolts,
}

/// One range of one function.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Its function.
    pub function: Function,
    /// Highest value that it shows.
    pub full_scale: Quantity,
    /// One count of its last digit.
    pub resolution: Quantity,
    /// Accuracy: percent of the reading.
    pub percent: f64,
    /// Accuracy: counts of the last digit.
    pub counts: f64,
    /// Lowest frequency for which that holds, of AC volts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_hertz: Option<Quantity>,
    /// Highest frequency for which that holds, of AC volts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest_hertz: Option<Quantity>,
}

/// A meter of the shop's.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    /// Short name, as typed with `--meter`.
    pub id: String,
    /// Its name in the shop.
    pub name: String,
    /// Last day on which its calibration is good, `2027-03-31`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration_due: Option<String>,
    /// Input resistance on volts; 10 MΩ if not said.
    #[serde(default = "ten_megohm")]
    pub input_resistance: Quantity,
    /// Ranges, in any order.
    #[serde(default, rename = "range")]
    pub ranges: Vec<Range>,
}

fn ten_megohm() -> Quantity {
    Quantity::ohms(10e6)
}

impl Range {
    /// Worst-case accuracy of a reading on this range: ±(percent of reading + counts × resolution), in the reading's unit.
    ///
    /// Source: the form in which manufacturers of multimeters state accuracy; worked example 0.5 % + 3 counts of 1 mV at 2 V
    /// gives ±13 mV.
    ///
    /// ```
    /// use ohmwright::model::meter::{Function, Range};
    /// let range = Range { function: Function::Volts, full_scale: "6 V".parse().unwrap(),
    ///     resolution: "1 mV".parse().unwrap(), percent: 0.5, counts: 3.0,
    ///     lowest_hertz: None, highest_hertz: None };
    /// assert_eq!(range.worst_case("2 V".parse().unwrap()).to_string(), "13 mV");
    /// ```
    pub fn worst_case(&self, reading: Quantity) -> Quantity {
        reading.with_si(reading.si().abs() * self.percent / 100.0 + self.counts * self.resolution.si())
    }
}

impl Meter {
    /// The range on which an auto-ranging meter shows this reading; `None` if it has none that fits.
    pub fn range_for(&self, function: Function, reading: Quantity) -> Option<&Range> {
        self.ranges
            .iter()
            .filter(|range| range.function == function && range.full_scale.dimension() == reading.dimension())
            .filter(|range| reading.si().abs() <= range.full_scale.si())
            .min_by(|a, b| a.full_scale.si().total_cmp(&b.full_scale.si()))
    }
}
