//! Thermistors, and tables of a sensor's points.

use super::door::{Any, Anys, Kelvins, List, Number, Ohms, Temperature, above_zero, alike, helpers, within};
use super::error::{Allowed, ArgumentError, Given};
use super::results::results;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;

/// 0 °C in kelvin.
const ZERO: f64 = 273.15;
/// Range in which a thermistor is used at all, °C.
const COLDEST: f64 = -100.0;
const HOTTEST: f64 = 400.0;
/// Least and most beta of any thermistor, without its sign, in kelvin. Common practice, no source.
const BETAS: std::ops::RangeInclusive<f64> = 100.0..=10_000.0;

fn known_beta(what: &'static str, beta: f64) -> Result<(), ArgumentError> {
    if BETAS.contains(&beta.abs()) {
        return Ok(());
    }
    Err(ArgumentError::NoBeta { what, given: Quantity::new(beta, Dimension::TEMPERATURE_DIFFERENCE) })
}

/// As `beta_from_points` has it.
fn beta_between((one, first): (f64, f64), (two, second): (f64, f64)) -> f64 {
    (first / second).ln() / (1.0 / one - 1.0 / two)
}

results! {
    /// The three constants of a Steinhart-Hart curve.
    pub struct SteinhartHart = "Steinhart-Hart constants" {
        /// First constant, per kelvin.
        a: f64,
        /// Second constant.
        b: f64,
        /// Third constant.
        c: f64,
    }
}

fn kelvin(argument: &'static str, celsius: f64) -> Result<f64, ArgumentError> {
    within::<Temperature>(argument, celsius, COLDEST, HOTTEST).map(|celsius| celsius + ZERO)
}

/// Kelvin to °C; refused beyond what a thermistor can have.
fn celsius(argument: &'static str, given: f64, kelvin: f64) -> Result<f64, ArgumentError> {
    let celsius = kelvin - ZERO;
    if (COLDEST..=HOTTEST).contains(&celsius) {
        return Ok(celsius);
    }
    Err(ArgumentError::OutOfRange {
        argument,
        allowed: Allowed::Between(Given::Text("what stands for -100 °C".into()), Given::Text("400 °C".into())),
        given: Given::Quantity(Quantity::ohms(given)),
    })
}

/// Where `value` lies among points that run one way: the index of the left one, and both ends.
fn between(argument: &'static str, points: &[Quantity], value: Quantity) -> Result<usize, ArgumentError> {
    let (first, last) = (points[0], points[points.len() - 1]);
    let rising = last.si() > first.si();
    for (index, pair) in points.windows(2).enumerate() {
        if (pair[1].si() > pair[0].si()) != rising || pair[1].si() == pair[0].si() {
            return Err(ArgumentError::TurnsBack { argument, at: index + 2, value: pair[1] });
        }
    }
    let (low, high) = if rising { (first, last) } else { (last, first) };
    if !(low.si()..=high.si()).contains(&value.si()) {
        let allowed = Allowed::Between(Given::Quantity(low), Given::Quantity(high));
        return Err(ArgumentError::OutOfRange { argument: "value", allowed, given: Given::Quantity(value) });
    }
    let left = points.windows(2).position(|pair| {
        let (a, b) = (pair[0].si(), pair[1].si());
        (a.min(b)..=a.max(b)).contains(&value.si())
    });
    Ok(left.unwrap_or(0))
}

fn table(one: (&'static str, &[Quantity]), other: (&'static str, &[Quantity])) -> Result<(), ArgumentError> {
    let (left, right) = (one.1.len(), other.1.len());
    if left != right {
        return Err(ArgumentError::UnequalLength { one: one.0, other: other.0, left, right });
    }
    if left < 2 {
        return Err(ArgumentError::TooFew { argument: one.0, wanted: 2, given: left });
    }
    Ok(())
}

helpers! { "Thermistors and tables";
    /// Resistance of a thermistor at a temperature, by its beta.
    ///
    /// Ω = Ω₀ × e^(beta × (1/T − 1/T₀)), T in kelvin. Give the resistance at a known temperature (usually 25 °C) and beta in
    /// kelvin: `3977.K`. A beta below zero is a PTC.
    ///
    /// Errors: a resistance not above zero; a temperature beyond −100 to 400 °C; a beta beyond 100 to 10,000 K, whatever its sign.
    ///
    /// Source: the beta equation, an Arrhenius curve; any text on thermistors. Holds to about 1 K over 50 K around the known
    /// point, and the bounds of beta: common practice, no source.
    ///
    /// ```rhai
    /// beta_resistance(50.degC, 10.kohm, 25.degC, 3977.K)  // 3.563 kΩ
    /// ```
    fn beta_resistance(
        temperature: Temperature,
        known_resistance: Ohms,
        known_temperature: Temperature,
        beta: Kelvins,
    ) -> Ohms
    where since 3 { known_beta("beta", beta) }
    {
        above_zero::<Ohms>("known_resistance", known_resistance)?;
        if beta == 0.0 {
            above_zero::<Kelvins>("beta", beta)?;
        }
        let (hot, known) = (kelvin("temperature", temperature)?, kelvin("known_temperature", known_temperature)?);
        Ok(known_resistance * (beta * (1.0 / hot - 1.0 / known)).exp())
    }

    /// Temperature of a thermistor from its resistance, by its beta.
    ///
    /// The inverse of `beta_resistance`: 1/T = 1/T₀ + ln(Ω ÷ Ω₀) ÷ beta.
    ///
    /// Errors: a resistance not above zero; a beta beyond 100 to 10,000 K, whatever its sign; a resistance that would mean a
    /// temperature beyond −100 to 400 °C.
    ///
    /// Source: the beta equation, as `beta_resistance`.
    ///
    /// ```rhai
    /// beta_temperature(3563.ohm, 10.kohm, 25.degC, 3977.K)  // 50 °C
    /// ```
    fn beta_temperature(
        resistance: Ohms,
        known_resistance: Ohms,
        known_temperature: Temperature,
        beta: Kelvins,
    ) -> Temperature
    where since 3 { known_beta("beta", beta) }
    {
        above_zero::<Ohms>("resistance", resistance)?;
        above_zero::<Ohms>("known_resistance", known_resistance)?;
        if beta == 0.0 {
            above_zero::<Kelvins>("beta", beta)?;
        }
        let inverse =
            1.0 / kelvin("known_temperature", known_temperature)? + (resistance / known_resistance).ln() / beta;
        celsius("resistance", resistance, 1.0 / inverse)
    }

    /// The beta of a thermistor from two of its points.
    ///
    /// Beta = ln(Ω₁ ÷ Ω₂) ÷ (1/T₁ − 1/T₂), in kelvin.
    ///
    /// Errors: a resistance not above zero; a temperature beyond −100 to 400 °C; both temperatures the same; points that would give
    /// a beta beyond 100 to 10,000 K, whatever its sign.
    ///
    /// Source: the beta equation, as `beta_resistance`.
    ///
    /// ```rhai
    /// beta_from_points(25.degC, 10.kohm, 85.degC, 1070.ohm)  // 3978 K
    /// ```
    fn beta_from_points(
        temperature_1: Temperature,
        resistance_1: Ohms,
        temperature_2: Temperature,
        resistance_2: Ohms,
    ) -> Kelvins
    where since 3 {
        let beta = beta_between((temperature_1 + ZERO, resistance_1), (temperature_2 + ZERO, resistance_2));
        // What is refused below has no beta at all, or an endless one.
        if beta.is_finite() { known_beta("beta", beta) } else { Ok(()) }
    }
    {
        above_zero::<Ohms>("resistance_1", resistance_1)?;
        above_zero::<Ohms>("resistance_2", resistance_2)?;
        let (one, two) = (kelvin("temperature_1", temperature_1)?, kelvin("temperature_2", temperature_2)?);
        if one == two {
            return Err(ArgumentError::Same {
                one: "temperature_1",
                other: "temperature_2",
                value: Given::Quantity(Quantity::celsius(temperature_1)),
            });
        }
        Ok(beta_between((one, resistance_1), (two, resistance_2)))
    }

    /// Temperature of a thermistor from its resistance, by its three Steinhart-Hart constants.
    ///
    /// 1/T = a + b × ln Ω + c × (ln Ω)³, T in kelvin, Ω in ohms. The constants are bare numbers.
    ///
    /// Errors: a resistance not above zero; constants and resistance that would mean a temperature beyond −100 to 400 °C.
    ///
    /// Source: Steinhart and Hart, Deep-Sea Research 15 (1968) 497, from memory; constants of the example from a sensor module's
    /// data sheet.
    ///
    /// ```rhai
    /// steinhart_hart_temperature(3.605.kohm, 1.129148e-3, 2.34125e-4, 8.76741e-8)  // 49.97 °C
    /// ```
    fn steinhart_hart_temperature(resistance: Ohms, a: Number, b: Number, c: Number) -> Temperature {
        let log = above_zero::<Ohms>("resistance", resistance)?.ln();
        celsius("resistance", resistance, 1.0 / (a + b * log + c * log.powi(3)))
    }

    /// Resistance of a thermistor at a temperature, by its three Steinhart-Hart constants.
    ///
    /// The real root of c × (ln Ω)³ + b × ln Ω + a = 1/T, by Cardano's formula.
    ///
    /// Errors: a temperature beyond −100 to 400 °C; b and c that are not both above zero (b above zero and c zero is allowed), for
    /// which there may be more roots than one.
    ///
    /// Source: Steinhart and Hart, Deep-Sea Research 15 (1968) 497, from memory.
    ///
    /// ```rhai
    /// steinhart_hart_resistance(25.degC, 1.129148e-3, 2.34125e-4, 8.76741e-8)  // 10 kΩ
    /// ```
    fn steinhart_hart_resistance(temperature: Temperature, a: Number, b: Number, c: Number) -> Ohms {
        let rest = a - 1.0 / kelvin("temperature", temperature)?;
        if b <= 0.0 || c < 0.0 {
            return Err(ArgumentError::NoCurve);
        }
        if c == 0.0 {
            return Ok((-rest / b).exp());
        }
        // Depressed cubic x³ + p·x + q with p > 0 has one real root; the hyperbolic form loses no digits.
        let (p, q) = (b / c, rest / c);
        let scale = 2.0 * (p / 3.0).sqrt();
        let root = -scale * (((3.0 * q) / (p * scale)).asinh() / 3.0).sinh();
        // One step of Newton's method takes out what rounding has left.
        let root = root - (root.powi(3) + p * root + q) / (3.0 * root * root + p);
        Ok(root.exp())
    }

    /// The three Steinhart-Hart constants from three points of a thermistor.
    ///
    /// Solves the equation of `steinhart_hart_temperature` through the three points. Fields: `a`, `b`, `c`, bare numbers.
    ///
    /// Errors: a resistance not above zero; a temperature beyond −100 to 400 °C; two points the same; resistances that do not fall as
    /// it gets hotter (a PTC has no such curve).
    ///
    /// Source: Steinhart and Hart, Deep-Sea Research 15 (1968) 497, from memory; the example's points are the default of a
    /// public fitting page, from memory, its constants those of a thermistor library.
    ///
    /// ```rhai
    /// steinhart_hart_fit(5.degC, 25.kohm, 25.degC, 10.kohm, 45.degC, 4.kohm)  // a 0.002108508, b 0.00007979205, c 0.0000006535076
    /// ```
    fn steinhart_hart_fit(
        temperature_1: Temperature,
        resistance_1: Ohms,
        temperature_2: Temperature,
        resistance_2: Ohms,
        temperature_3: Temperature,
        resistance_3: Ohms,
    ) -> SteinhartHart
    where since 3 {
        let mut points =
            [(temperature_1, resistance_1), (temperature_2, resistance_2), (temperature_3, resistance_3)];
        points.sort_by(|one, other| one.0.total_cmp(&other.0));
        for pair in points.windows(2) {
            if pair[1].1 >= pair[0].1 {
                return Err(ArgumentError::DoesNotFall {
                    colder: Quantity::celsius(pair[0].0),
                    first: Quantity::ohms(pair[0].1),
                    hotter: Quantity::celsius(pair[1].0),
                    second: Quantity::ohms(pair[1].1),
                });
            }
        }
        Ok(())
    }
    {
        let log = |argument, ohms| above_zero::<Ohms>(argument, ohms).map(f64::ln);
        let (l1, l2, l3) = (
            log("resistance_1", resistance_1)?,
            log("resistance_2", resistance_2)?,
            log("resistance_3", resistance_3)?,
        );
        let y1 = 1.0 / kelvin("temperature_1", temperature_1)?;
        let y2 = 1.0 / kelvin("temperature_2", temperature_2)?;
        let y3 = 1.0 / kelvin("temperature_3", temperature_3)?;
        if l1 == l2 || l2 == l3 || l1 == l3 {
            return Err(ArgumentError::NoCurve);
        }
        let (g2, g3) = ((y2 - y1) / (l2 - l1), (y3 - y1) / (l3 - l1));
        let c = (g3 - g2) / (l3 - l2) / (l1 + l2 + l3);
        let b = g2 - c * (l1 * l1 + l1 * l2 + l2 * l2);
        Ok(SteinhartHart { a: y1 - (b + l1 * l1 * c) * l1, b, c })
    }

    /// A value read from a table of points, on the straight line between its neighbors.
    ///
    /// `from` must run one way; `to` goes with it. Any kinds: ohms to degrees, degrees to ohms, volts to percent.
    ///
    /// Errors: fewer than two points; lists of unequal length; `from` that turns back; a value beyond the table.
    ///
    /// Source: linear interpolation, checked against a scientific library.
    ///
    /// ```rhai
    /// interpolate(2.2.kohm, [6.kohm, 2.5.kohm, 1.2.kohm], [0.degC, 20.degC, 40.degC])  // 24.62 °C
    /// ```
    fn interpolate(value: Any, from: Anys, to: Anys) -> Any {
        table(("from", &from), ("to", &to))?;
        alike(("value", value), ("from", from[0]))?;
        let left = between("from", &from, value)?;
        let share = (value.si() - from[left].si()) / (from[left + 1].si() - from[left].si());
        Ok(to[left].with_si(to[left].si() + share * (to[left + 1].si() - to[left].si())))
    }

    /// Temperature of a thermistor from a table of its points, on a thermistor's curve between neighbors.
    ///
    /// Between two points it takes the beta that fits both: much nearer than a straight line where points lie far apart.
    ///
    /// Errors: fewer than two points; lists of unequal length; resistances that turn back or are not above zero; a resistance
    /// beyond the table; a temperature beyond −100 to 400 °C.
    ///
    /// Source: the beta equation between points, as `beta_resistance`.
    ///
    /// ```rhai
    /// thermistor_table_temperature(2.2.kohm, [6.kohm, 2.5.kohm, 1.2.kohm], [0.degC, 20.degC, 40.degC])  // 23.3 °C
    /// ```
    fn thermistor_table_temperature(
        value: Ohms,
        resistances: List<Ohms>,
        temperatures: List<Temperature>,
    ) -> Temperature {
        let ohms: Vec<_> = resistances.iter().copied().map(Quantity::ohms).collect();
        let degrees: Vec<_> = temperatures.iter().copied().map(Quantity::celsius).collect();
        table(("resistances", &ohms), ("temperatures", &degrees))?;
        for ohms in &resistances {
            above_zero::<Ohms>("resistances", *ohms)?;
        }
        let left = between("resistances", &ohms, Quantity::ohms(value))?;
        let (one, two) = (kelvin("temperatures", temperatures[left])?, kelvin("temperatures", temperatures[left + 1])?);
        let share = (value / resistances[left]).ln() / (resistances[left + 1] / resistances[left]).ln();
        Ok(1.0 / (1.0 / one + share * (1.0 / two - 1.0 / one)) - ZERO)
    }
}
