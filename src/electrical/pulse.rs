//! Pulses: duty and average of a pulse-width signal; a tone wheel's frequency and speed.

use super::door::{
    Hertz, Length, Ratio, Rotation, Seconds, Speed, Volts, Whole, above_zero, helpers, not_below_zero, whole_within,
    within,
};
use super::error::{ArgumentError, Given};
use crate::model::quantity::Quantity;
use std::f64::consts::TAU;

/// High and low level of a signal, which must differ.
fn levels(high: f64, low: f64) -> Result<(), ArgumentError> {
    if high == low {
        return Err(ArgumentError::Same { one: "high", other: "low", value: Given::Quantity(Quantity::volts(high)) });
    }
    Ok(())
}

helpers! { "Pulses and speeds";
    /// Duty of a pulse-width signal, from its times on and off.
    ///
    /// On ÷ (on + off), as a percentage. Which level counts as on (a switched ground is on when low) is for the caller.
    ///
    /// Errors: a time below zero; both zero.
    ///
    /// Source: definition of the duty factor.
    ///
    /// ```rhai
    /// duty(2.ms, 8.ms)  // 20 %
    /// ```
    fn duty(on: Seconds, off: Seconds) -> Ratio {
        not_below_zero::<Seconds>("on", on)?;
        not_below_zero::<Seconds>("off", off)?;
        Ok(on / (on + off))
    }

    /// Average volts of a pulse-width signal: what a meter on DC volts shows.
    ///
    /// Low + duty × (high − low).
    ///
    /// Errors: a duty beyond 0 to 100 %.
    ///
    /// Source: mean of a rectangular wave; any text on pulse-width modulation.
    ///
    /// ```rhai
    /// average_volts(30.pct, 14.V, 0.2.V)  // 4.34 V
    /// ```
    fn average_volts(duty: Ratio, high: Volts, low: Volts) -> Volts {
        Ok(low + within::<Ratio>("duty", duty, 0.0, 1.0)? * (high - low))
    }

    /// Duty of a pulse-width signal, from its average volts.
    ///
    /// The inverse of `average_volts`: (average − low) ÷ (high − low).
    ///
    /// Errors: high and low the same; an average that is not between them.
    ///
    /// Source: mean of a rectangular wave, as `average_volts`.
    ///
    /// ```rhai
    /// duty_from_average(4.34.V, 14.V, 0.2.V)  // 30 %
    /// ```
    fn duty_from_average(average: Volts, high: Volts, low: Volts) -> Ratio {
        levels(high, low)?;
        within::<Volts>("average", average, low.min(high), low.max(high))?;
        Ok((average - low) / (high - low))
    }

    /// Effective volts of a pulse-width signal: what heats a resistive load.
    ///
    /// √(duty × high² + (1 − duty) × low²), the root of the mean of the square.
    ///
    /// Errors: a duty beyond 0 to 100 %.
    ///
    /// Source: root mean square of a rectangular wave, checked against a scientific library.
    ///
    /// ```rhai
    /// effective_volts(25.pct, 12.V, 0.V)  // 6 V
    /// ```
    fn effective_volts(duty: Ratio, high: Volts, low: Volts) -> Volts {
        within::<Ratio>("duty", duty, 0.0, 1.0)?;
        Ok((duty * high * high + (1.0 - duty) * low * low).sqrt())
    }

    /// How long a pulse-width signal is on in each period.
    ///
    /// Duty ÷ frequency.
    ///
    /// Errors: a duty beyond 0 to 100 %; a frequency that is not above zero.
    ///
    /// Source: definition of the duty factor.
    ///
    /// ```rhai
    /// pulse_width(30.pct, 200.Hz)  // 1.5 ms
    /// ```
    fn pulse_width(duty: Ratio, frequency: Hertz) -> Seconds {
        Ok(within::<Ratio>("duty", duty, 0.0, 1.0)? / above_zero::<Hertz>("frequency", frequency)?)
    }

    /// Frequency of a signal, from its period.
    ///
    /// 1 ÷ period.
    ///
    /// Errors: a period that is not above zero.
    ///
    /// Source: definition of frequency.
    ///
    /// ```rhai
    /// frequency_of(4.ms)  // 250 Hz
    /// ```
    fn frequency_of(period: Seconds) -> Hertz {
        Ok(1.0 / above_zero::<Seconds>("period", period)?)
    }

    /// Speed of a shaft, from the frequency of its tone wheel.
    ///
    /// Frequency ÷ teeth, turns per second, shown per minute. A missing tooth counts as a tooth where the frequency is read
    /// between the gaps.
    ///
    /// Errors: a frequency below zero; teeth fewer than 1 or more than 1000.
    ///
    /// Source: one pulse a tooth; turns per minute = Hz × 60 ÷ teeth.
    ///
    /// ```rhai
    /// tone_wheel_speed(800.Hz, 48)  // 1000 rpm
    /// ```
    fn tone_wheel_speed(frequency: Hertz, teeth: Whole) -> Rotation {
        Ok(TAU * not_below_zero::<Hertz>("frequency", frequency)? / whole_within("teeth", teeth, 1, 1000)? as f64)
    }

    /// Frequency that a tone wheel gives at a speed.
    ///
    /// The inverse of `tone_wheel_speed`: turns per second × teeth.
    ///
    /// Errors: a speed below zero; teeth fewer than 1 or more than 1000.
    ///
    /// Source: one pulse a tooth, as `tone_wheel_speed`.
    ///
    /// ```rhai
    /// tone_wheel_frequency(1000.rpm, 48)  // 800 Hz
    /// ```
    fn tone_wheel_frequency(speed: Rotation, teeth: Whole) -> Hertz {
        Ok(not_below_zero::<Rotation>("speed", speed)? / TAU * whole_within("teeth", teeth, 1, 1000)? as f64)
    }

    /// Road speed of a wheel, from its turning speed and the circumference on which it rolls.
    ///
    /// Turns per second × circumference.
    ///
    /// Errors: a speed below zero; a circumference that is not above zero.
    ///
    /// Source: geometry of a rolling wheel.
    ///
    /// ```rhai
    /// road_speed(500.rpm, 2.m)  // 60 km/h
    /// ```
    fn road_speed(rotation: Rotation, circumference: Length) -> Speed {
        Ok(not_below_zero::<Rotation>("rotation", rotation)? / TAU
            * above_zero::<Length>("circumference", circumference)?)
    }

    /// Turning speed of a wheel at a road speed.
    ///
    /// The inverse of `road_speed`: speed ÷ circumference.
    ///
    /// Errors: a speed below zero; a circumference that is not above zero.
    ///
    /// Source: geometry of a rolling wheel.
    ///
    /// ```rhai
    /// wheel_rotation(60.kmh, 2.m)  // 500 rpm
    /// ```
    fn wheel_rotation(speed: Speed, circumference: Length) -> Rotation {
        Ok(TAU * not_below_zero::<Speed>("speed", speed)? / above_zero::<Length>("circumference", circumference)?)
    }
}
