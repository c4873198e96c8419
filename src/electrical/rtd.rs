//! Platinum resistance thermometers.

use super::door::{Kelvins, Ohms, Temperature, Text, above_zero, helpers, within};
use super::error::{Allowed, ArgumentError, Given};
use crate::model::quantity::Quantity;

const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;
/// Range of the standard, °C.
const RANGE: (f64, f64) = (-200.0, 850.0);

/// Resistance over nominal resistance.
fn relative(celsius: f64) -> f64 {
    let above = 1.0 + celsius * (A + celsius * B);
    if celsius < 0.0 { above + C * (celsius - 100.0) * celsius.powi(3) } else { above }
}

/// Change of that per kelvin.
fn slope(celsius: f64) -> f64 {
    let above = A + 2.0 * B * celsius;
    if celsius < 0.0 { above + C * (4.0 * celsius.powi(3) - 300.0 * celsius.powi(2)) } else { above }
}

helpers! { "Platinum resistance thermometers";
    /// Resistance of a platinum thermometer at a temperature.
    ///
    /// Ω = nominal × (1 + A·t + B·t²), below 0 °C also + C·(t − 100)·t³, with A = 3.9083e-3, B = −5.775e-7, C = −4.183e-12. Nominal
    /// is the resistance at 0 °C: 100 Ω, 200 Ω, 1000 Ω.
    ///
    /// Errors: a temperature beyond −200 to 850 °C; a nominal resistance that is not above zero.
    ///
    /// Source: IEC 60751:2008, constants seen in a page that quotes it and ASTM E1137.
    ///
    /// ```rhai
    /// rtd_resistance(100.degC, 100.ohm)  // 138.5 Ω
    /// ```
    fn rtd_resistance(temperature: Temperature, nominal: Ohms) -> Ohms {
        within::<Temperature>("temperature", temperature, RANGE.0, RANGE.1)?;
        Ok(above_zero::<Ohms>("nominal", nominal)? * relative(temperature))
    }

    /// Temperature of a platinum thermometer from its resistance.
    ///
    /// The inverse curve of `rtd_resistance`, to 1e-9 K.
    ///
    /// Errors: a nominal resistance that is not above zero; a resistance that stands for no temperature from −200 to 850 °C.
    ///
    /// Source: IEC 60751:2008, as `rtd_resistance`.
    ///
    /// ```rhai
    /// rtd_temperature(110.ohm, 100.ohm)  // 25.68 °C
    /// ```
    fn rtd_temperature(resistance: Ohms, nominal: Ohms) -> Temperature {
        above_zero::<Ohms>("nominal", nominal)?;
        within::<Ohms>("resistance", resistance, nominal * relative(RANGE.0), nominal * relative(RANGE.1))?;
        let wanted = resistance / nominal;
        let mut celsius = (-A + (A * A - 4.0 * B * (1.0 - wanted)).sqrt()) / (2.0 * B);
        if wanted < 1.0 {
            // The curve is nearly straight: Newton's method is there after three steps.
            for _ in 0..6 {
                celsius -= (relative(celsius) - wanted) / slope(celsius);
            }
        }
        Ok(celsius)
    }

    /// How far a platinum thermometer may be off, by its class.
    ///
    /// AA: 0.1 + 0.0017·|t|; A: 0.15 + 0.002·|t|; B: 0.3 + 0.005·|t|; C: 0.6 + 0.01·|t|, in kelvin.
    ///
    /// Errors: a class that is none of `AA`, `A`, `B`, `C`; a temperature beyond the class's range (wire-wound: AA −50 to 250, A −100
    /// to 450, B and C −196 to 600 °C).
    ///
    /// Source: IEC 60751:2008; tolerances seen in public tables, the ranges from memory.
    ///
    /// ```rhai
    /// rtd_tolerance(200.degC, "B")  // 1.3 K
    /// ```
    fn rtd_tolerance(temperature: Temperature, class: Text) -> Kelvins {
        let (fixed, share, coldest, hottest) = match class.as_str() {
            "AA" => (0.1, 0.0017, -50.0, 250.0),
            "A" => (0.15, 0.002, -100.0, 450.0),
            "B" => (0.3, 0.005, -196.0, 600.0),
            "C" => (0.6, 0.01, -196.0, 600.0),
            _ => {
                return Err(ArgumentError::OutOfRange {
                    argument: "class",
                    allowed: Allowed::OneOf(&["AA", "A", "B", "C"]),
                    given: Given::Text(class),
                });
            }
        };
        within::<Temperature>("temperature", temperature, coldest, hottest)?;
        Ok(fixed + share * temperature.abs())
    }

    /// How far the resistance of a platinum thermometer may be off, by its class.
    ///
    /// The tolerance of `rtd_tolerance` times the slope of the curve at that temperature, in ohms.
    ///
    /// Errors: as `rtd_tolerance`; a nominal resistance that is not above zero.
    ///
    /// Source: IEC 60751:2008, as `rtd_tolerance`.
    ///
    /// ```rhai
    /// rtd_resistance_tolerance(200.degC, 100.ohm, "B")  // 478 mΩ
    /// ```
    fn rtd_resistance_tolerance(temperature: Temperature, nominal: Ohms, class: Text) -> Ohms {
        let kelvins = rtd_tolerance(Quantity::celsius(temperature), class).map_err(|error| error.trouble)?;
        Ok(above_zero::<Ohms>("nominal", nominal)? * slope(temperature) * kelvins.si())
    }
}
