//! Battery, starting, charging, key-off draw. Lead-acid batteries of 12 V and of 24 V systems (two in series).

use super::door::{
    Amperes, Charge, List, OneDimension, Ratio, Seconds, Temperature, Volts, above_zero, helpers, in_order,
    not_below_zero, within,
};
use super::error::{Allowed, ArgumentError, Given};
use super::results::results;
use crate::model::dimension::Dimension;
use crate::model::quantity::{Quantity, order};
use std::cmp::Ordering;

/// Rest volts of a 12 V battery at 25 °C and its state of charge.
const REST: [(f64, f64); 5] = [(11.7, 0.0), (12.0, 0.25), (12.2, 0.5), (12.4, 0.75), (12.6, 1.0)];
/// Rest volts of six cells rise by this per kelvin.
const REST_PER_KELVIN: f64 = 0.0012;
/// Load test at half the cold-cranking amperes: °C and the least volts of a 12 V battery after 15 s.
const LOAD_TEST: [(f64, f64); 8] =
    [(-18.0, 8.5), (-12.0, 8.7), (-7.0, 8.9), (-1.0, 9.1), (4.0, 9.3), (10.0, 9.4), (16.0, 9.5), (21.0, 9.6)];

results! {
    /// A reading against what it should be.
    pub struct Judgement = "judgement" {
        /// `in`, `low` or `high`.
        verdict: &'static str,
        /// Least that it should be; none where there is no lower limit.
        least: Option<Quantity>,
        /// Most that it should be; none where there is no upper limit.
        most: Option<Quantity>,
        /// Distance to the nearer limit, below zero when outside.
        margin: Quantity,
    }
}

impl Judgement {
    fn of(reading: f64, least: Option<f64>, most: Option<f64>, dimension: Dimension) -> Self {
        let quantity = |si| Quantity::new(si, dimension);
        let below = least.map_or(f64::INFINITY, |least| reading - least);
        let above = most.map_or(f64::INFINITY, |most| most - reading);
        let beside = |limit: Option<f64>| limit.and_then(|limit| order(reading, limit));
        let verdict = if beside(least) == Some(Ordering::Less) {
            "low"
        } else if beside(most) == Some(Ordering::Greater) {
            "high"
        } else {
            "in"
        };
        Self { verdict, least: least.map(quantity), most: most.map(quantity), margin: quantity(below.min(above)) }
    }
}

/// How many 12 V batteries the system has in series.
fn batteries(system: f64) -> Result<f64, ArgumentError> {
    match system {
        12.0 => Ok(1.0),
        24.0 => Ok(2.0),
        _ => Err(ArgumentError::OutOfRange {
            argument: "system",
            allowed: Allowed::OneOf(&["12 V", "24 V"]),
            given: Given::Quantity(Quantity::volts(system)),
        }),
    }
}

/// Refused where a value is not above the one before it.
fn rising<T: OneDimension>(argument: &'static str, values: &[f64]) -> Result<(), ArgumentError> {
    values.windows(2).position(|pair| pair[1] <= pair[0]).map_or(Ok(()), |index| {
        let value = Quantity::new(values[index + 1], T::DIMENSION);
        Err(ArgumentError::DoesNotRise { argument, at: index + 2, value })
    })
}

/// Straight lines between points; the end values beyond them.
fn along(points: &[(f64, f64)], x: f64) -> f64 {
    let first = points[0];
    if x <= first.0 {
        return first.1;
    }
    points.windows(2).find(|pair| x <= pair[1].0).map_or(points[points.len() - 1].1, |pair| {
        pair[0].1 + (x - pair[0].0) / (pair[1].0 - pair[0].0) * (pair[1].1 - pair[0].1)
    })
}

helpers! { "Battery, starting and charging";
    /// State of charge of a lead-acid battery at rest, from its volts and temperature.
    ///
    /// Rest volts of a 12 V battery at 25 °C: 11.7 V 0 %, 12.0 V 25 %, 12.2 V 50 %, 12.4 V 75 %, 12.6 V 100 %, straight lines between;
    /// corrected by 1.2 mV per kelvin. At rest means: no charge or draw for hours, or the surface charge taken off (headlamps
    /// 15 s, then wait 3 min). A 24 V system counts as two batteries in series that are alike.
    ///
    /// Errors: a system that is neither 12 V nor 24 V; a temperature beyond −40 to 60 °C; rest volts below 10.5 V (a shorted cell,
    /// or harm done by deep discharge) or above 13.2 V (not at rest) for each battery.
    ///
    /// Published tables differ: another one (12.15 V 25 %, 12.30 V 50 %, 12.45 V 75 %, 12.66 V 100 %, no source) gives up to 19 points
    /// less for the same volts. Sealed batteries rest higher. Where the battery's own table is known, take
    /// `state_of_charge_by_table`.
    ///
    /// Source: US Army TM 5-3805-262-20, p. 5-142, for the table and the procedure; TM 9-6140-200-14, ¶2-4, for 10.5 V. The
    /// correction (0.2 mV per kelvin and cell): from memory. 13.2 V, and that sealed batteries rest higher: common practice, no
    /// source.
    ///
    /// ```rhai
    /// state_of_charge(12.3.V, 25.degC, 12.V)  // 62.5 %
    /// state_of_charge(24.6.V, 25.degC, 24.V)  // 62.5 %
    /// ```
    fn state_of_charge(rest_volts: Volts, temperature: Temperature, system: Volts) -> Ratio {
        let count = batteries(system)?;
        within::<Temperature>("temperature", temperature, -40.0, 60.0)?;
        within::<Volts>("rest_volts", rest_volts, 10.5 * count, 13.2 * count)?;
        Ok(along(&REST, rest_volts / count - REST_PER_KELVIN * (temperature - 25.0)))
    }

    /// State of charge of a battery at rest by a table of its own: its manufacturer's, or another published one.
    ///
    /// As `state_of_charge`, with the table's rest volts of one 12 V battery at 25 °C, lowest first, and their charges. The end values
    /// hold beyond the table.
    ///
    /// Errors: as `state_of_charge`; fewer than two points; lists of unequal length; volts or charges that do not rise; charges
    /// beyond 0 to 100 %.
    ///
    /// Source: linear interpolation; the correction as in `state_of_charge`. The example's table is often published; common
    /// practice, no source.
    ///
    /// ```rhai
    /// state_of_charge_by_table(12.3.V, 25.degC, 12.V, [12.15.V, 12.3.V, 12.45.V, 12.66.V], [25.pct, 50.pct, 75.pct, 100.pct])  // 50 %
    /// ```
    fn state_of_charge_by_table(
        rest_volts: Volts,
        temperature: Temperature,
        system: Volts,
        table_volts: List<Volts>,
        table_charges: List<Ratio>,
    ) -> Ratio {
        let count = batteries(system)?;
        within::<Temperature>("temperature", temperature, -40.0, 60.0)?;
        within::<Volts>("rest_volts", rest_volts, 10.5 * count, 13.2 * count)?;
        let (left, right) = (table_volts.len(), table_charges.len());
        if left != right {
            return Err(ArgumentError::UnequalLength { one: "table_volts", other: "table_charges", left, right });
        }
        if left < 2 {
            return Err(ArgumentError::TooFew { argument: "table_volts", wanted: 2, given: left });
        }
        rising::<Volts>("table_volts", &table_volts)?;
        rising::<Ratio>("table_charges", &table_charges)?;
        for charge in &table_charges {
            within::<Ratio>("table_charges", *charge, 0.0, 1.0)?;
        }
        let points: Vec<_> = table_volts.into_iter().zip(table_charges).collect();
        Ok(along(&points, rest_volts / count - REST_PER_KELVIN * (temperature - 25.0)))
    }

    /// The least volts that a battery must keep in a load test, by its temperature.
    ///
    /// For a load of half the cold-cranking amperes, after 15 s, 12 V battery: 9.6 V at 21 °C and above, 9.5 at 16, 9.4 at 10,
    /// 9.3 at 4, 9.1 at −1, 8.9 at −7, 8.7 at −12, 8.5 at −18; straight lines between; twice that in a 24 V system.
    ///
    /// Errors: a system that is neither 12 V nor 24 V; a temperature beyond −18 to 60 °C.
    ///
    /// Source: the battery trade's usual table, from memory. (US Army TM 5-3805-263-14&P-2 wants 9 V at 3 × Ah, at most 500 A, for
    /// 15 s.)
    ///
    /// ```rhai
    /// load_test_volts(10.degC, 12.V)  // 9.4 V
    /// ```
    fn load_test_volts(temperature: Temperature, system: Volts) -> Volts {
        within::<Temperature>("temperature", temperature, -18.0, 60.0)?;
        Ok(along(&LOAD_TEST, temperature) * batteries(system)?)
    }

    /// Judgement of the volts at the battery while it cranks.
    ///
    /// Least: 9.6 V in a 12 V system (as in a load test at 21 °C), 18 V in a 24 V system. Judge it with a battery of known state
    /// of charge and not below 20 °C; in the cold take `load_test_volts`. Fields: `verdict` (`in`, `low`), `least`, `most` (none),
    /// `margin`.
    ///
    /// Errors: a system that is neither 12 V nor 24 V; volts below zero.
    ///
    /// Source: 24 V: US Army TM 9-2320-211-20 (18 V or more). 12 V: common practice, no source.
    ///
    /// ```rhai
    /// judge_cranking(10.2.V, 12.V)  // verdict in, least 9.6 V, most none, margin 600 mV
    /// ```
    fn judge_cranking(cranking_volts: Volts, system: Volts) -> Judgement {
        let least = if batteries(system)? == 1.0 { 9.6 } else { 18.0 };
        not_below_zero::<Volts>("cranking_volts", cranking_volts)?;
        Ok(Judgement::of(cranking_volts, Some(least), None, Dimension::VOLTAGE))
    }

    /// Judgement of the volts at the battery while it is charged, engine running.
    ///
    /// 14.0 ± 0.5 V in a 12 V system, 28.0 ± 1 V in a 24 V system, after ten minutes. Other manuals allow other limits (24 to 30 V):
    /// the shop's own belong into its procedures. Fields: `verdict` (`in`, `low`, `high`), `least`, `most`, `margin`.
    ///
    /// Errors: a system that is neither 12 V nor 24 V; volts below zero.
    ///
    /// Source: US Army TM 5-3895-382-24, Table 33.
    ///
    /// ```rhai
    /// judge_charging(14.2.V, 12.V).verdict  // in
    /// judge_charging(26.4.V, 24.V)  // verdict low, least 27 V, most 29 V, margin -600 mV
    /// ```
    fn judge_charging(charging_volts: Volts, system: Volts) -> Judgement {
        let count = batteries(system)?;
        not_below_zero::<Volts>("charging_volts", charging_volts)?;
        Ok(Judgement::of(charging_volts, Some(13.5 * count), Some(14.5 * count), Dimension::VOLTAGE))
    }

    /// Judgement of a key-off draw against the most that it may be.
    ///
    /// Fields: `verdict` (`in`, `high`), `least` (none), `most`, `margin`. Measured after the modules have gone to sleep.
    ///
    /// Errors: a draw below zero (the battery is charged, or the clamp is the wrong way around); a limit that is not above zero.
    ///
    /// Source: none for the limit: 35, 50 and 85 mA are all in use; common practice, no source. Give the manufacturer's.
    ///
    /// ```rhai
    /// judge_key_off_draw(72.mA, 50.mA)  // verdict high, least none, most 50 mA, margin -22 mA
    /// ```
    fn judge_key_off_draw(draw: Amperes, limit: Amperes) -> Judgement {
        not_below_zero::<Amperes>("draw", draw)?;
        above_zero::<Amperes>("limit", limit)?;
        Ok(Judgement::of(draw, None, Some(limit), Dimension::CURRENT))
    }

    /// How long a battery lasts at a draw, down to a state of charge at which it no longer starts.
    ///
    /// Ampere-hours × (charge now − charge left) ÷ amperes. For small draws; at tens of amperes a battery gives less than it is
    /// rated for.
    ///
    /// Errors: a capacity or draw that is not above zero; a draw above a twentieth of the capacity an hour (the rating holds for
    /// twenty hours); charges beyond 0 to 100 %; charge left not below charge now.
    ///
    /// Source: ampere-hours by definition; the 20-hour rate: common practice, no source.
    ///
    /// ```rhai
    /// hours_to_flat(70.Ah, 90.pct, 50.pct, 80.mA)  // 350 h
    /// ```
    fn hours_to_flat(capacity: Charge, charge_now: Ratio, charge_left: Ratio, draw: Amperes) -> Seconds {
        above_zero::<Charge>("capacity", capacity)?;
        above_zero::<Amperes>("draw", draw)?;
        within::<Amperes>("draw", draw, 0.0, capacity / 72_000.0 * (1.0 + 1e-12))?;
        within::<Ratio>("charge_now", charge_now, 0.0, 1.0)?;
        within::<Ratio>("charge_left", charge_left, 0.0, 1.0)?;
        in_order::<Ratio>(("charge_left", charge_left), ("charge_now", charge_now))?;
        Ok(capacity * (charge_now - charge_left) / draw)
    }

    /// The draw that empties a battery by so much in a time: the inverse of `hours_to_flat`.
    ///
    /// Ampere-hours × (charge now − charge left) ÷ time.
    ///
    /// Errors: a capacity or time that is not above zero; charges beyond 0 to 100 %; charge left not below charge now.
    ///
    /// Source: ampere-hours by definition.
    ///
    /// ```rhai
    /// draw_to_flat(70.Ah, 100.pct, 50.pct, 336.h)  // 104.2 mA
    /// ```
    fn draw_to_flat(capacity: Charge, charge_now: Ratio, charge_left: Ratio, time: Seconds) -> Amperes {
        above_zero::<Charge>("capacity", capacity)?;
        above_zero::<Seconds>("time", time)?;
        within::<Ratio>("charge_now", charge_now, 0.0, 1.0)?;
        within::<Ratio>("charge_left", charge_left, 0.0, 1.0)?;
        in_order::<Ratio>(("charge_left", charge_left), ("charge_now", charge_now))?;
        Ok(capacity * (charge_now - charge_left) / time)
    }

    /// Charge that a draw takes in a time.
    ///
    /// Amperes × time, shown in ampere-hours.
    ///
    /// Errors: a time below zero.
    ///
    /// Source: OpenStax College Physics 2e, module m42341, "Current" (charge = current × time).
    ///
    /// ```rhai
    /// charge_taken(180.A, 4.s)  // 200 mAh
    /// ```
    fn charge_taken(draw: Amperes, time: Seconds) -> Charge {
        Ok(draw * not_below_zero::<Seconds>("time", time)?)
    }
}
