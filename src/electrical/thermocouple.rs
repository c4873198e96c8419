//! Type K thermocouple, ITS-90.

use super::door::{Temperature, Volts, helpers, within};
use super::error::{Allowed, ArgumentError, Given};
use crate::model::quantity::Quantity;

/// Below 0 °C, millivolts.
const COLD: [f64; 11] = [
    0.0,
    0.394_501_280_25e-1,
    0.236_223_735_98e-4,
    -0.328_589_067_84e-6,
    -0.499_048_287_77e-8,
    -0.675_090_591_73e-10,
    -0.574_103_274_28e-12,
    -0.310_888_728_94e-14,
    -0.104_516_093_65e-16,
    -0.198_892_668_78e-19,
    -0.163_226_974_86e-22,
];
/// From 0 °C, millivolts, without the bell around 127 °C.
const WARM: [f64; 10] = [
    -0.176_004_136_86e-1,
    0.389_212_049_75e-1,
    0.185_587_700_32e-4,
    -0.994_575_928_74e-7,
    0.318_409_457_19e-9,
    -0.560_728_448_89e-12,
    0.560_750_590_59e-15,
    -0.320_207_200_03e-18,
    0.971_511_471_52e-22,
    -0.121_047_212_75e-25,
];
const BELL: (f64, f64, f64) = (0.118_597_6, -0.118_343_2e-3, 126.968_6);
const RANGE: (f64, f64) = (-270.0, 1372.0);

fn polynomial(coefficients: &[f64], celsius: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * celsius + coefficient)
}

/// Millivolts against a junction at 0 °C.
fn millivolts(celsius: f64) -> f64 {
    if celsius < 0.0 {
        polynomial(&COLD, celsius)
    } else {
        polynomial(&WARM, celsius) + BELL.0 * (BELL.1 * (celsius - BELL.2).powi(2)).exp()
    }
}

/// Kelvin per millivolt, about, over most of the range.
const MEAN_INVERSE_SLOPE: f64 = 24.4;

/// Millivolts per kelvin.
fn slope(celsius: f64) -> f64 {
    let rate = |coefficients: &[f64]| {
        // The derivative, term by term.
        let terms = coefficients.iter().enumerate().skip(1).rev();
        terms.fold(0.0, |sum, (power, coefficient)| sum * celsius + power as f64 * coefficient)
    };
    if celsius < 0.0 {
        rate(&COLD)
    } else {
        let from_peak = celsius - BELL.2;
        rate(&WARM) + BELL.0 * (BELL.1 * from_peak.powi(2)).exp() * 2.0 * BELL.1 * from_peak
    }
}

helpers! { "Type K thermocouple";
    /// Volts of a type K thermocouple between a hot junction and the cold one.
    ///
    /// E(hot) − E(cold), each by the reference polynomial against 0 °C. Unlike wires of the right alloys up to the meter are
    /// taken for granted; `cold` is the temperature where copper begins.
    ///
    /// Errors: a junction beyond −270 to 1372 °C.
    ///
    /// Source: NIST ITS-90 Thermocouple Database (SRD 60, NIST Monograph 175), type K; coefficients compared with those
    /// that two libraries carry.
    ///
    /// ```rhai
    /// thermocouple_volts(100.degC, 0.degC)  // 4.096 mV
    /// ```
    fn thermocouple_volts(hot: Temperature, cold: Temperature) -> Volts {
        within::<Temperature>("hot", hot, RANGE.0, RANGE.1)?;
        within::<Temperature>("cold", cold, RANGE.0, RANGE.1)?;
        Ok((millivolts(hot) - millivolts(cold)) * 1e-3)
    }

    /// Temperature of the hot junction of a type K thermocouple, from the volts and the cold junction.
    ///
    /// Adds E(cold) and finds the temperature on the reference curve, to 1e-9 K: not the approximate inverse
    /// polynomials, which are off by up to 0.06 K.
    ///
    /// Errors: a cold junction beyond −270 to 1372 °C; volts that stand for no temperature in that range.
    ///
    /// Source: NIST ITS-90 Thermocouple Database (SRD 60, NIST Monograph 175), type K, as `thermocouple_volts`.
    ///
    /// ```rhai
    /// thermocouple_temperature(4.096.mV, 25.degC)  // 124.3 °C
    /// ```
    fn thermocouple_temperature(measured: Volts, cold: Temperature) -> Temperature {
        within::<Temperature>("cold", cold, RANGE.0, RANGE.1)?;
        let at_cold = millivolts(cold);
        let wanted = measured * 1e3 + at_cold;
        let (mut low, mut high) = RANGE;
        if !(millivolts(low)..=millivolts(high)).contains(&wanted) {
            let bound = |end| Given::Quantity(Quantity::volts((millivolts(end) - at_cold) * 1e-3));
            return Err(ArgumentError::OutOfRange {
                argument: "measured",
                allowed: Allowed::Between(bound(low), bound(high)),
                given: Given::Quantity(Quantity::volts(measured)),
            });
        }
        // Newton's method from the mean slope, inside a bracket that every step narrows: below -200 °C the curve is nearly
        // flat, and a step that leaves the bracket is replaced by halving it. The curve rises all the way.
        let mut celsius = (wanted * MEAN_INVERSE_SLOPE).clamp(low, high);
        for _ in 0..60 {
            let off = millivolts(celsius) - wanted;
            if off < 0.0 {
                low = celsius
            } else {
                high = celsius
            }
            let step = celsius - off / slope(celsius);
            let next = if (low..=high).contains(&step) { step } else { f64::midpoint(low, high) };
            if (next - celsius).abs() < 1e-9 {
                return Ok(next);
            }
            celsius = next;
        }
        Ok(celsius)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_temperature_comes_back_to_the_coldest_end() {
        for tenth in -2700..=13720 {
            let celsius = f64::from(tenth) / 10.0;
            let volts = thermocouple_volts(Quantity::celsius(celsius), Quantity::celsius(0.0)).unwrap();
            let back = thermocouple_temperature(volts, Quantity::celsius(0.0)).unwrap().si();
            // At -270 °C a microvolt is a kelvin and the last bit of the volts a ten-millionth of one.
            assert!((back - celsius).abs() < if celsius < -260.0 { 1e-6 } else { 1e-8 }, "{celsius} {back}");
        }
    }
}
