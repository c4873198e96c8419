//! Ratiometric sensors: a signal that is a share of its own supply, and two tracks that watch each other.

use super::door::{Any, Ratio, Text, Volts, above_zero, alike, helpers, in_order, not_below_zero, within};
use super::error::{Allowed, ArgumentError, Given};
use super::results::results;
use crate::model::quantity::{Quantity, order};
use std::cmp::Ordering;

results! {
    /// How well two tracks agree.
    pub struct TrackError = "track error" {
        /// What the second track should show.
        expected: Quantity,
        /// Second track less expected.
        error: Quantity,
        /// That error as a share of the reference.
        percent: Quantity,
    }
}

/// How far beyond its ends a position may be, as a share of the span.
const BEYOND_ENDS: f64 = 0.25;

/// The words of `signal_band`, from the lowest.
const BANDS: [&str; 5] = ["fault low", "below range", "in range", "above range", "fault high"];

/// Signal and reference that can belong together.
fn checked(signal: f64, reference: f64) -> Result<(), ArgumentError> {
    above_zero::<Volts>("reference", reference)?;
    within::<Volts>("signal", signal, 0.0, reference).map(|_| ())
}

/// The two ends of a span, as shares of the reference, which must differ.
fn ends(at_start: f64, at_end: f64) -> Result<(), ArgumentError> {
    within::<Ratio>("at_start", at_start, 0.0, 1.0)?;
    within::<Ratio>("at_end", at_end, 0.0, 1.0)?;
    if at_start == at_end {
        return Err(ArgumentError::Same {
            one: "at_start",
            other: "at_end",
            value: Given::Quantity(Quantity::ratio(at_start)),
        });
    }
    Ok(())
}

fn agreement(second: f64, expected: f64, reference: f64) -> TrackError {
    TrackError {
        expected: Quantity::volts(expected),
        error: Quantity::volts(second - expected),
        percent: Quantity::ratio((second - expected) / reference),
    }
}

fn tracks(first: f64, second: f64, reference: f64) -> Result<(), ArgumentError> {
    above_zero::<Volts>("reference", reference)?;
    within::<Volts>("first", first, 0.0, reference)?;
    within::<Volts>("second", second, 0.0, reference).map(|_| ())
}

helpers! { "Ratiometric sensors";
    /// A signal as a share of the reference that was measured with it.
    ///
    /// Signal ÷ reference, as a percentage.
    ///
    /// Errors: a reference that is not above zero; a signal below 0 V or above the reference (a short to a higher voltage, not
    /// a position).
    ///
    /// Source: US Army TM 9-2320-280-20-2, ¶4-45c (a throttle sensor judged as a fraction of its own supply).
    ///
    /// ```rhai
    /// percent_of_reference(1.65.V, 5.V)  // 33 %
    /// ```
    fn percent_of_reference(signal: Volts, reference: Volts) -> Ratio {
        checked(signal, reference)?;
        Ok(signal / reference)
    }

    /// The volts that a share of the reference should give, at this reference.
    ///
    /// Share × reference.
    ///
    /// Errors: a reference that is not above zero; a share below 0 % or above 100 %.
    ///
    /// Source: US Army TM 9-2320-280-20-2, ¶4-45c (supply × 0.33).
    ///
    /// ```rhai
    /// volts_at_percent(33.pct, 4.92.V)  // 1.624 V
    /// ```
    fn volts_at_percent(percent: Ratio, reference: Volts) -> Volts {
        above_zero::<Volts>("reference", reference)?;
        Ok(within::<Ratio>("percent", percent, 0.0, 1.0)? * reference)
    }

    /// Where a ratiometric sensor stands in its span.
    ///
    /// (signal ÷ reference − start) ÷ (end − start). Start and end are the shares of the reference at the two stops; with the
    /// end below the start the signal runs downward. A stop that lies a little off gives a little below 0 % or above 100 %.
    ///
    /// Errors: a reference that is not above zero; a signal below 0 V or above the reference; start and end the same, or
    /// beyond 0 to 100 %; a position below −25 % or above 125 %, where the ends are those of another sensor.
    ///
    /// Source: straight line through two points. That a sensor uses 10 to 90 % of its reference, and the 25 %: common practice, no
    /// source.
    ///
    /// ```rhai
    /// sensor_position(2.5.V, 5.V, 10.pct, 90.pct)  // 50 %
    /// sensor_position(1.V, 5.V, 90.pct, 10.pct)  // 87.5 %
    /// ```
    fn sensor_position(signal: Volts, reference: Volts, at_start: Ratio, at_end: Ratio) -> Ratio
    where since 3 {
        checked(signal, reference)?;
        ends(at_start, at_end)?;
        let place = (signal / reference - at_start) / (at_end - at_start);
        if (-BEYOND_ENDS - 1e-12..=1.0 + BEYOND_ENDS + 1e-12).contains(&place) {
            return Ok(());
        }
        Err(ArgumentError::FarBeyondEnds { signal: Quantity::volts(signal), place: Quantity::ratio(place) })
    }
    {
        checked(signal, reference)?;
        ends(at_start, at_end)?;
        Ok((signal / reference - at_start) / (at_end - at_start))
    }

    /// The volts that a position in the span should give, at this reference.
    ///
    /// The inverse of `sensor_position`: (start + position × (end − start)) × reference.
    ///
    /// Errors: a reference that is not above zero; a position beyond 0 to 100 %; start and end the same, or beyond 0 to 100 %.
    ///
    /// Source: straight line through two points.
    ///
    /// ```rhai
    /// volts_at_position(25.pct, 4.95.V, 10.pct, 90.pct)  // 1.485 V
    /// ```
    fn volts_at_position(position: Ratio, reference: Volts, at_start: Ratio, at_end: Ratio) -> Volts {
        above_zero::<Volts>("reference", reference)?;
        within::<Ratio>("position", position, 0.0, 1.0)?;
        ends(at_start, at_end)?;
        Ok((at_start + position * (at_end - at_start)) * reference)
    }

    /// The physical quantity that a signal stands for, by two points of the sensor's straight line.
    ///
    /// A signal of any kind (volts, milliamperes, percent) to a quantity of any kind (pressure, temperature, percent): value 1 +
    /// (signal − signal 1) ÷ (signal 2 − signal 1) × (value 2 − value 1). Also the other way around, with the points swapped.
    ///
    /// Errors: signals of unlike kinds, or values; both signals the same; a signal further beyond the two points than a tenth
    /// of their distance, where nobody has said that the line goes on.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 9, "Current signal systems" (4-20 mA table). The tenth: common
    /// practice, no source.
    ///
    /// ```rhai
    /// transfer(2.5.V, 0.5.V, 0.kPa, 4.5.V, 400.kPa)  // 200 kPa
    /// transfer(5.6.mA, 4.mA, 0.pct, 20.mA, 100.pct)  // 10 %
    /// ```
    fn transfer(signal: Any, signal_1: Any, value_1: Any, signal_2: Any, value_2: Any) -> Any {
        alike(("signal", signal), ("signal_1", signal_1))?;
        alike(("signal", signal), ("signal_2", signal_2))?;
        alike(("value_1", value_1), ("value_2", value_2))?;
        let span = signal_2.si() - signal_1.si();
        if span == 0.0 {
            return Err(ArgumentError::Same { one: "signal_1", other: "signal_2", value: Given::Quantity(signal_1) });
        }
        let share = (signal.si() - signal_1.si()) / span;
        if !(-0.1 - 1e-12..=1.1 + 1e-12).contains(&share) {
            let bound = |share: f64| Given::Quantity(signal.with_si(signal_1.si() + share * span));
            let allowed = if span > 0.0 {
                Allowed::Between(bound(-0.1), bound(1.1))
            } else {
                Allowed::Between(bound(1.1), bound(-0.1))
            };
            return Err(ArgumentError::OutOfRange { argument: "signal", allowed, given: Given::Quantity(signal) });
        }
        Ok(value_1.with_si(value_1.si() + share * (value_2.si() - value_1.si())))
    }

    /// Two tracks of which the second is the first plus a fixed offset.
    ///
    /// Expected = first + offset. Fields: `expected`, `error` (second less expected), `percent` (error as a share of the
    /// reference).
    ///
    /// Errors: a reference that is not above zero; a track below 0 V or above the reference; an expectation outside them too.
    ///
    /// Source: common practice, no source.
    ///
    /// ```rhai
    /// tracks_offset(1.V, 1.56.V, 0.5.V, 5.V)  // expected 1.5 V, error 60 mV, percent 1.2 %
    /// ```
    fn tracks_offset(first: Volts, second: Volts, offset: Volts, reference: Volts) -> TrackError {
        tracks(first, second, reference)?;
        within::<Volts>("offset", offset, -first, reference - first)?;
        Ok(agreement(second, first + offset, reference))
    }

    /// Two tracks of which the second shows half of the first.
    ///
    /// Expected = first ÷ 2. Fields: `expected`, `error` (second less expected), `percent` (error as a share of the reference).
    ///
    /// Errors: a reference that is not above zero; a track below 0 V or above the reference.
    ///
    /// Source: common practice, no source.
    ///
    /// ```rhai
    /// tracks_half(3.2.V, 1.62.V, 5.V)  // expected 1.6 V, error 20 mV, percent 0.4 %
    /// ```
    fn tracks_half(first: Volts, second: Volts, reference: Volts) -> TrackError {
        tracks(first, second, reference)?;
        Ok(agreement(second, first / 2.0, reference))
    }

    /// Two tracks that run against each other and add up to the reference.
    ///
    /// Expected = reference − first. Fields: `expected`, `error` (second less expected), `percent` (error as a share of the
    /// reference).
    ///
    /// Errors: a reference that is not above zero; a track below 0 V or above the reference.
    ///
    /// Source: common practice, no source.
    ///
    /// ```rhai
    /// tracks_crossed(1.2.V, 3.7.V, 5.V)  // expected 3.8 V, error -100 mV, percent -2 %
    /// ```
    fn tracks_crossed(first: Volts, second: Volts, reference: Volts) -> TrackError {
        tracks(first, second, reference)?;
        Ok(agreement(second, reference - first, reference))
    }

    /// How far a signal may be off, when the allowance is a share of the reference or a fixed voltage, whichever is more.
    ///
    /// The greater of share × reference and volts.
    ///
    /// Errors: a reference that is not above zero; a share or volts below zero.
    ///
    /// Source: US Army TM 9-2320-280-20-2, ¶4-45c (±1 % or 0.02 V).
    ///
    /// ```rhai
    /// signal_allowance(1.pct, 20.mV, 5.V)  // 50 mV
    /// ```
    fn signal_allowance(share: Ratio, volts: Volts, reference: Volts) -> Volts {
        above_zero::<Volts>("reference", reference)?;
        Ok((not_below_zero::<Ratio>("share", share)? * reference).max(not_below_zero::<Volts>("volts", volts)?))
    }

    /// Whether a share of the reference means an open circuit, a short, or a position.
    ///
    /// Below `lowest` it is `low` (open or short to ground on a pulled-down signal), above `highest` it is `high`, else
    /// `position`.
    ///
    /// Errors: a share below 0 % (swapped leads); lowest not below highest; either beyond 0 to 100 %.
    ///
    /// Source: common practice, no source (4 % and 96 % are usual).
    ///
    /// ```rhai
    /// signal_range(2.pct, 4.pct, 96.pct)  // low
    /// ```
    fn signal_range(share: Ratio, lowest: Ratio, highest: Ratio) -> Text
    where since 3 {
        if share < 0.0 {
            return Err(ArgumentError::Swapped { argument: "share", given: Quantity::ratio(share) });
        }
        Ok(())
    }
    {
        within::<Ratio>("lowest", lowest, 0.0, 1.0)?;
        within::<Ratio>("highest", highest, 0.0, 1.0)?;
        in_order::<Ratio>(("lowest", lowest), ("highest", highest))?;
        Ok(if share < lowest {
            "low"
        } else if share > highest {
            "high"
        } else {
            "position"
        }
        .to_owned())
    }

    /// In which of the bands between four limits a signal lies.
    ///
    /// Below `fault_low`: `fault low` (open or shorted); up to `range_low`: `below range`; up to `range_high`: `in range`; up to
    /// `fault_high`: `above range`; beyond it: `fault high`. A signal that lies on a limit is on the side nearer to the range. Any
    /// kind: volts, milliamperes, a share of the reference.
    ///
    /// Errors: a signal and limits of unlike kinds; limits that do not rise one by one.
    ///
    /// Source: four limits of a 4-20 mA signal, 3.6, 3.8, 20.5 and 21 mA: NAMUR NE 43, from memory. Of a sensor on 5 V often 4 %,
    /// 10 %, 90 % and 96 % of the reference: common practice, no source.
    ///
    /// ```rhai
    /// signal_band(3.7.mA, 3.6.mA, 3.8.mA, 20.5.mA, 21.mA)  // below range
    /// signal_band(2.pct, 4.pct, 10.pct, 90.pct, 96.pct)  // fault low
    /// ```
    fn signal_band(signal: Any, fault_low: Any, range_low: Any, range_high: Any, fault_high: Any) -> Text {
        let limits =
            [("fault_low", fault_low), ("range_low", range_low), ("range_high", range_high), ("fault_high", fault_high)];
        for limit in limits {
            alike(("signal", signal), limit)?;
        }
        for pair in limits.windows(2) {
            let ((lesser, low), (greater, high)) = (pair[0], pair[1]);
            if low.si() >= high.si() {
                let (high, low) = (Given::Quantity(high), Given::Quantity(low));
                return Err(ArgumentError::Order { greater, lesser, high, low });
            }
        }
        let side = |limit: Quantity| order(signal.si(), limit.si()).unwrap_or(Ordering::Equal);
        let below = [fault_low, range_low].iter().filter(|limit| side(**limit) == Ordering::Less).count();
        let above = [range_high, fault_high].iter().filter(|limit| side(**limit) == Ordering::Greater).count();
        Ok(BANDS[2 + above - below].to_owned())
    }
}
