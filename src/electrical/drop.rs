//! Voltage-drop budgets: what a path loses, against what it may.

use super::door::{Amperes, Ohms, Text, Volts, Watts, above_zero, helpers, not_below_zero};
use super::error::{Allowed, ArgumentError, Given};
use super::results::results;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;

results! {
    /// A measured drop against its allowance.
    pub struct DropBudget = "drop budget" {
        /// Whether the drop is no more than the allowance.
        within: bool,
        /// Share of the supply that is lost.
        share_of_supply: Quantity,
        /// Share of the allowance that is used.
        share_of_allowance: Quantity,
        /// Resistance of the path.
        resistance: Quantity,
        /// Resistance beyond what the allowance stands for; zero if within.
        extra_resistance: Quantity,
        /// Watts turned to heat in the path.
        wasted: Quantity,
    }
}

/// A path, its allowance in a 12 V and in a 24 V system (`None` where the source has none), all in volts.
type Path = (&'static str, Option<f64>, Option<f64>);

const PATHS: &[Path] = &[
    ("battery_cable", None, Some(0.2)),
    ("battery_to_starter", Some(0.4), None),
    ("starter_control", Some(1.0), Some(2.0)),
    ("alternator_output", None, Some(0.4)),
    ("charging_positive", None, Some(1.0)),
    ("charging_ground", None, Some(1.0)),
    ("continuous", Some(0.5), Some(1.0)),
    ("intermittent", Some(1.0), Some(2.0)),
    ("cranking_side", Some(0.5), None),
];
const PATH_WORDS: &[&str] = &[
    "battery_cable",
    "battery_to_starter",
    "starter_control",
    "alternator_output",
    "charging_positive",
    "charging_ground",
    "continuous",
    "intermittent",
    "cranking_side",
];

helpers! { "Voltage-drop budgets";
    /// A published allowance for the drop along a kind of path, in a 12 V or a 24 V system.
    ///
    /// Sources differ by a factor of two to five: these are starting points, and a shop's own limits belong into its
    /// procedures. `battery_cable` 24 V: 0.2 V. `battery_to_starter` 12 V, cranking: 0.4 V. `starter_control` 1.0 V and 2.0 V.
    /// `alternator_output` 24 V: 0.4 V. `charging_positive`, `charging_ground` 24 V: 1 V each. `continuous` (any steady load, bus
    /// to load) 0.5 V and 1 V; `intermittent` 1 V and 2 V. `cranking_side` 12 V: 0.5 V.
    ///
    /// Errors: a path that is not listed; a system that is neither 12 V nor 24 V, or that the source says nothing about.
    ///
    /// Source: battery_cable: US Army TM 9-2320-211-20, ¶d-e. battery_to_starter: TM 10-3930-671-24, p. F-303.
    /// starter_control: TM 5-2420-230-24-2, p. 13-33. alternator_output: TM 9-2320-361-24-1, p. 0012 00-22.
    /// charging_positive, charging_ground: TM 5-3805-290-23-1, WP 0013. continuous: FAA AC 43.13-1B, Table 11-7;
    /// intermittent: its Table 11-6, from memory. cranking_side: common practice, no source.
    ///
    /// ```rhai
    /// drop_allowance("starter_control", 12.V)  // 1 V
    /// ```
    fn drop_allowance(path: Text, system: Volts) -> Volts {
        let (_, twelve, twenty_four) =
            PATHS.iter().find(|(name, ..)| *name == path).ok_or_else(|| ArgumentError::OutOfRange {
                argument: "path",
                allowed: Allowed::OneOf(PATH_WORDS),
                given: Given::Text(path.clone()),
            })?;
        let words: &'static [&'static str] = match (twelve, twenty_four) {
            (Some(_), Some(_)) => &["12 V", "24 V"],
            (Some(_), None) => &["12 V"],
            _ => &["24 V"],
        };
        let allowance = if system == 12.0 {
            *twelve
        } else if system == 24.0 {
            *twenty_four
        } else {
            None
        };
        allowance.ok_or(ArgumentError::OutOfRange {
            argument: "system",
            allowed: Allowed::OneOf(words),
            given: Given::Quantity(Quantity::volts(system)),
        })
    }

    /// The drop that the whole cranking circuit may have at a starter current.
    ///
    /// 0.20 V for each 100 A, a rule of thumb.
    ///
    /// Errors: a current below zero.
    ///
    /// Source: US Army TM 10-3930-671-24, p. F-303.
    ///
    /// ```rhai
    /// cranking_allowance(180.A)  // 360 mV
    /// ```
    fn cranking_allowance(current: Amperes) -> Volts {
        Ok(0.002 * not_below_zero::<Amperes>("current", current)?)
    }

    /// A measured drop against its allowance: shares, the resistance that causes it, the watts that it wastes.
    ///
    /// Resistance = drop ÷ amperes; extra resistance = (drop − allowance) ÷ amperes, zero when within; wasted = drop ×
    /// amperes. Fields: `within`, `share_of_supply`, `share_of_allowance`, `resistance`, `extra_resistance`, `wasted`.
    ///
    /// Errors: a drop below zero (leads the wrong way around, or not a load); allowance, supply or current not above zero:
    /// without a current a drop proves nothing.
    ///
    /// Source: Ohm's and Joule's laws, Lessons in Electric Circuits, vol. I (DC), ch. 2.
    ///
    /// ```rhai
    /// drop_budget(0.9.V, 0.5.V, 12.6.V, 10.A)  // within no, share of supply 7.143 %, share of allowance 180 %, resistance 90 mΩ, extra resistance 40 mΩ, wasted 9 W
    /// ```
    fn drop_budget(measured: Volts, allowance: Volts, supply: Volts, current: Amperes) -> DropBudget {
        not_below_zero::<Volts>("measured", measured)?;
        above_zero::<Volts>("allowance", allowance)?;
        above_zero::<Volts>("supply", supply)?;
        above_zero::<Amperes>("current", current)?;
        Ok(DropBudget {
            within: measured <= allowance,
            share_of_supply: Quantity::ratio(measured / supply),
            share_of_allowance: Quantity::ratio(measured / allowance),
            resistance: Quantity::ohms(measured / current),
            extra_resistance: Quantity::ohms((measured - allowance).max(0.0) / current),
            wasted: Quantity::new(measured * current, Dimension::POWER),
        })
    }

    /// Watts turned to heat in a resistance that carries a current.
    ///
    /// A² × Ω: what a bad joint burns.
    ///
    /// Errors: a resistance below zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 2, "Calculating electric power".
    ///
    /// ```rhai
    /// heat_in(0.09.ohm, 10.A)  // 9 W
    /// ```
    fn heat_in(resistance: Ohms, current: Amperes) -> Watts {
        Ok(current * current * not_below_zero::<Ohms>("resistance", resistance)?)
    }
}
