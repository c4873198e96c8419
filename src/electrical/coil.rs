//! Coils and heaters: resistance follows temperature, current and power follow resistance.

use super::door::{Ohms, Ratio, Temperature, Volts, Watts, above_zero, helpers, within};
use super::error::ArgumentError;
use super::ohm::Load;

/// Where copper's straight line would reach zero ohms, °C below zero.
const COPPER_ZERO: f64 = 234.5;

/// Temperatures in which the straight line holds.
fn usual(argument: &'static str, celsius: f64) -> Result<f64, ArgumentError> {
    within::<Temperature>(argument, celsius, -60.0, 250.0)
}

helpers! { "Coils and heaters";
    /// Resistance of a copper winding at another temperature.
    ///
    /// Ω₂ = Ω₁ × (234.5 + t₂) ÷ (234.5 + t₁). Use it to hold a coil measured warm against a figure given for 20 °C.
    ///
    /// Errors: a resistance that is not above zero; a temperature beyond −60 to 250 °C, where the straight line no longer holds.
    ///
    /// Source: FAA AC 43.13-1B CHG 1, ¶11-66 (234.5 for copper); bounds: common practice, no source.
    ///
    /// ```rhai
    /// copper_resistance_at(14.2.ohm, 80.degC, 20.degC)  // 11.49 Ω
    /// ```
    fn copper_resistance_at(resistance: Ohms, measured_at: Temperature, wanted_at: Temperature) -> Ohms {
        above_zero::<Ohms>("resistance", resistance)?;
        Ok(resistance * (COPPER_ZERO + usual("wanted_at", wanted_at)?)
            / (COPPER_ZERO + usual("measured_at", measured_at)?))
    }

    /// Temperature of a copper winding, from its resistance cold and hot.
    ///
    /// t = Ω hot ÷ Ω cold × (234.5 + t cold) − 234.5.
    ///
    /// Errors: a resistance that is not above zero; a cold temperature beyond −60 to 250 °C; resistances that would mean a hot one
    /// beyond it.
    ///
    /// Source: FAA AC 43.13-1B CHG 1, ¶11-66 (234.5 for copper), solved for the temperature.
    ///
    /// ```rhai
    /// winding_temperature(11.5.ohm, 20.degC, 14.2.ohm)  // 79.75 °C
    /// ```
    fn winding_temperature(cold_resistance: Ohms, cold: Temperature, hot_resistance: Ohms) -> Temperature {
        above_zero::<Ohms>("cold_resistance", cold_resistance)?;
        above_zero::<Ohms>("hot_resistance", hot_resistance)?;
        let factor = COPPER_ZERO + usual("cold", cold)?;
        let bound = |celsius: f64| cold_resistance * (COPPER_ZERO + celsius) / factor;
        within::<Ohms>("hot_resistance", hot_resistance, bound(-60.0), bound(250.0))?;
        Ok(hot_resistance / cold_resistance * factor - COPPER_ZERO)
    }

    /// Resistance of any metal at another temperature, by its temperature coefficient.
    ///
    /// Ω = Ω known × (1 + coefficient × (t − t known)). The coefficient is a share per kelvin, at the known temperature: of
    /// copper at 20 °C `0.393.pct`.
    ///
    /// Errors: a resistance that is not above zero; a coefficient beyond −2 to 2 % per kelvin; temperatures at which the
    /// resistance would not be above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 12, "Temperature coefficient of resistance".
    ///
    /// ```rhai
    /// resistance_at(15.ohm, 20.degC, 35.degC, 0.4041.pct)  // 15.91 Ω
    /// ```
    fn resistance_at(
        known_resistance: Ohms,
        known_at: Temperature,
        wanted_at: Temperature,
        coefficient: Ratio,
    ) -> Ohms {
        above_zero::<Ohms>("known_resistance", known_resistance)?;
        within::<Ratio>("coefficient", coefficient, -0.02, 0.02)?;
        let factor = 1.0 + coefficient * (wanted_at - known_at);
        above_zero::<Ohms>("the resistance at wanted_at", known_resistance * factor)
    }

    /// Current and power of a copper coil at a temperature, from its resistance at 20 °C.
    ///
    /// The resistance by `copper_resistance_at`, then Ohm's and Joule's laws. Direct current, settled. Fields: `volts`, `amperes`,
    /// `ohms`, `watts`.
    ///
    /// Errors: a resistance that is not above zero; a temperature beyond −60 to 250 °C.
    ///
    /// Source: FAA AC 43.13-1B CHG 1, ¶11-66; Lessons in Electric Circuits, vol. I (DC), ch. 2.
    ///
    /// ```rhai
    /// coil(12.6.V, 12.ohm, 90.degC)  // volts 12.6 V, amperes 823.5 mA, ohms 15.3 Ω, watts 10.38 W
    /// ```
    fn coil(supply: Volts, resistance_at_20: Ohms, temperature: Temperature) -> Load {
        above_zero::<Ohms>("resistance_at_20", resistance_at_20)?;
        let hot = resistance_at_20 * (COPPER_ZERO + usual("temperature", temperature)?) / (COPPER_ZERO + 20.0);
        Ok(Load::of(supply, hot))
    }

    /// Power of a heater at another voltage than it is rated for.
    ///
    /// Rated watts × (volts ÷ rated volts)², its resistance taken as constant.
    ///
    /// Errors: rated watts or volts not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 2 (W = V² ÷ Ω).
    ///
    /// ```rhai
    /// heater_watts(55.W, 12.V, 13.8.V)  // 72.74 W
    /// ```
    fn heater_watts(rated: Watts, rated_volts: Volts, volts: Volts) -> Watts {
        above_zero::<Watts>("rated", rated)?;
        above_zero::<Volts>("rated_volts", rated_volts)?;
        Ok(rated * (volts / rated_volts).powi(2))
    }
}
