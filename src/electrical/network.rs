//! Resistances together: series, parallel, dividers, the bridge; and what a meter's own resistance does to a reading.

use super::door::{Amperes, List, Ohms, Volts, above_zero, helpers, in_order, not_below_zero, within};
use super::results::results;
use crate::model::quantity::Quantity;

results! {
    /// A bridge: the volts of its two taps and what flows between them.
    pub struct Bridge = "bridge" {
        /// Volts at the left tap.
        left: Quantity,
        /// Volts at the right tap.
        right: Quantity,
        /// Left less right.
        difference: Quantity,
        /// Amperes from the left tap to the right one through the detector.
        amperes: Quantity,
    }
}

helpers! { "Resistances together";
    /// Resistances one after the other.
    ///
    /// The sum, in ohms. Two to four resistances may be given without the brackets of a list.
    ///
    /// Errors: an empty list; a resistance below zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 5, "Simple series circuits".
    ///
    /// ```rhai
    /// series([3.kohm, 10.kohm, 5.kohm])  // 18 kΩ
    /// ```
    fn series(resistances: List<Ohms>) -> Ohms {
        let mut sum = 0.0;
        for ohms in resistances {
            sum += not_below_zero::<Ohms>("resistances", ohms)?;
        }
        Ok(sum)
    }

    /// Resistances side by side.
    ///
    /// 1 ÷ the sum of 1 ÷ Ω, in ohms. Two to four resistances may be given without the brackets of a list.
    ///
    /// Errors: an empty list; a resistance that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 5, "Simple parallel circuits".
    ///
    /// ```rhai
    /// parallel([1.kohm, 3.kohm, 2.kohm])  // 545.5 Ω
    /// parallel(10.kohm, 4.7.kohm)  // 3.197 kΩ
    /// ```
    fn parallel(resistances: List<Ohms>) -> Ohms {
        let mut sum = 0.0;
        for ohms in resistances {
            sum += 1.0 / above_zero::<Ohms>("resistances", ohms)?;
        }
        Ok(1.0 / sum)
    }

    /// Volts at the tap of an unloaded divider, against its lower end.
    ///
    /// Supply × lower ÷ (upper + lower). Volts and ohms give volts.
    ///
    /// Errors: a resistance below zero; both zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 6, "Voltage divider circuits".
    ///
    /// ```rhai
    /// divider(5.V, 1.kohm, 2.2.kohm)  // 3.438 V
    /// ```
    fn divider(supply: Volts, upper: Ohms, lower: Ohms) -> Volts {
        not_below_zero::<Ohms>("upper", upper)?;
        not_below_zero::<Ohms>("lower", lower)?;
        Ok(supply * lower / (upper + lower))
    }

    /// Volts at the tap of a divider that carries a load from the tap to its lower end.
    ///
    /// As `divider`, with the lower resistance beside the load.
    ///
    /// Errors: upper or lower below zero, or both zero; a load that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Voltmeter impact on measured circuit".
    ///
    /// ```rhai
    /// loaded_divider(24.V, 250.Mohm, 250.Mohm, 10.Mohm)  // 888.9 mV
    /// ```
    fn loaded_divider(supply: Volts, upper: Ohms, lower: Ohms, load: Ohms) -> Volts {
        not_below_zero::<Ohms>("upper", upper)?;
        not_below_zero::<Ohms>("lower", lower)?;
        above_zero::<Ohms>("load", load)?;
        let beside = lower * load / (lower + load);
        Ok(supply * beside / (upper + beside))
    }

    /// A bridge of four resistances with a detector between its two taps.
    ///
    /// Solved by Kirchhoff's laws. The left tap lies between `upper_left` and `lower_left`, the right one likewise; the
    /// supply feeds both uppers. For a bridge without a detector give the meter's input resistance. Fields: `left`,
    /// `right`, `difference` (volts), `amperes` (through the detector, left to right).
    ///
    /// Errors: a resistance that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Bridge circuits", and ch. 10, "Δ-Y and Y-Δ conversions".
    ///
    /// ```rhai
    /// bridge(10.V, 12.ohm, 18.ohm, 18.ohm, 12.ohm, 6.ohm)  // left 5.294 V, right 4.706 V, difference 588.2 mV, amperes 98.04 mA
    /// ```
    fn bridge(
        supply: Volts,
        upper_left: Ohms,
        lower_left: Ohms,
        upper_right: Ohms,
        lower_right: Ohms,
        detector: Ohms,
    ) -> Bridge {
        let conductance = |argument, ohms| above_zero::<Ohms>(argument, ohms).map(|ohms| 1.0 / ohms);
        let (up_left, down_left) = (conductance("upper_left", upper_left)?, conductance("lower_left", lower_left)?);
        let (up_right, down_right) =
            (conductance("upper_right", upper_right)?, conductance("lower_right", lower_right)?);
        let across = conductance("detector", detector)?;
        // Two nodes, Cramer's rule.
        let (sum_left, sum_right) = (up_left + down_left + across, up_right + down_right + across);
        let determinant = sum_left * sum_right - across * across;
        let left = supply * (up_left * sum_right + across * up_right) / determinant;
        let right = supply * (up_right * sum_left + across * up_left) / determinant;
        Ok(Bridge {
            left: Quantity::volts(left),
            right: Quantity::volts(right),
            difference: Quantity::volts(left - right),
            amperes: Quantity::amperes((left - right) * across),
        })
    }

    /// The unknown lower right resistance of a bridge that is in balance.
    ///
    /// Lower right = upper right × lower left ÷ upper left, in ohms.
    ///
    /// Errors: a resistance that is not above zero.
    ///
    /// Source: OpenStax College Physics 2e, module m42362, "Null measurements: the Wheatstone bridge".
    ///
    /// ```rhai
    /// balanced_bridge(1.kohm, 625.ohm, 2.5.kohm)  // 1.562 kΩ
    /// ```
    fn balanced_bridge(upper_left: Ohms, lower_left: Ohms, upper_right: Ohms) -> Ohms {
        above_zero::<Ohms>("upper_left", upper_left)?;
        above_zero::<Ohms>("lower_left", lower_left)?;
        above_zero::<Ohms>("upper_right", upper_right)?;
        Ok(upper_right * lower_left / upper_left)
    }

    /// What a voltmeter shows at a point, given what is there without it.
    ///
    /// Unloaded volts × input ÷ (input + source). `source_resistance` is what the point is fed through: of a divider, its
    /// two resistances side by side.
    ///
    /// Errors: a source resistance below zero; an input resistance that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Voltmeter impact on measured circuit".
    ///
    /// ```rhai
    /// meter_shows(12.V, 125.Mohm, 10.Mohm)  // 888.9 mV
    /// ```
    fn meter_shows(unloaded: Volts, source_resistance: Ohms, input_resistance: Ohms) -> Volts {
        not_below_zero::<Ohms>("source_resistance", source_resistance)?;
        above_zero::<Ohms>("input_resistance", input_resistance)?;
        Ok(unloaded * input_resistance / (input_resistance + source_resistance))
    }

    /// What is at a point without the voltmeter, given what it shows there.
    ///
    /// The inverse of `meter_shows`: shown × (input + source) ÷ input.
    ///
    /// Errors: a source resistance below zero; an input resistance that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Voltmeter impact on measured circuit".
    ///
    /// ```rhai
    /// unloaded_volts(4.95.V, 100.kohm, 10.Mohm)  // 5 V
    /// ```
    fn unloaded_volts(shown: Volts, source_resistance: Ohms, input_resistance: Ohms) -> Volts {
        not_below_zero::<Ohms>("source_resistance", source_resistance)?;
        above_zero::<Ohms>("input_resistance", input_resistance)?;
        Ok(shown * (input_resistance + source_resistance) / input_resistance)
    }

    /// What an ammeter in line shows, given the current without it.
    ///
    /// Amperes × circuit ÷ (circuit + burden): the meter's own resistance holds the current back.
    ///
    /// Errors: a circuit resistance that is not above zero; a burden below zero.
    ///
    /// Source: OpenStax College Physics 2e, module m42360, "DC voltmeters and ammeters".
    ///
    /// ```rhai
    /// ammeter_shows(1.2.A, 10.ohm, 0.02.ohm)  // 1.198 A
    /// ```
    fn ammeter_shows(without_meter: Amperes, circuit_resistance: Ohms, burden: Ohms) -> Amperes {
        above_zero::<Ohms>("circuit_resistance", circuit_resistance)?;
        not_below_zero::<Ohms>("burden", burden)?;
        Ok(without_meter * circuit_resistance / (circuit_resistance + burden))
    }

    /// The current without the ammeter, given what it shows in line.
    ///
    /// The inverse of `ammeter_shows`: shown × (circuit + burden) ÷ circuit.
    ///
    /// Errors: a circuit resistance that is not above zero; a burden below zero.
    ///
    /// Source: OpenStax College Physics 2e, module m42360, "DC voltmeters and ammeters".
    ///
    /// ```rhai
    /// amperes_without_meter(1.198.A, 10.ohm, 0.02.ohm)  // 1.2 A
    /// ```
    fn amperes_without_meter(shown: Amperes, circuit_resistance: Ohms, burden: Ohms) -> Amperes {
        above_zero::<Ohms>("circuit_resistance", circuit_resistance)?;
        not_below_zero::<Ohms>("burden", burden)?;
        Ok(shown * (circuit_resistance + burden) / circuit_resistance)
    }

    /// Volts at the signal pin of a resistive sensor that hangs on a pull-up to the module's supply.
    ///
    /// What the module sees: supply × sensor ÷ (pull-up + sensor). An open circuit reads the supply, a short to ground 0 V.
    ///
    /// Errors: a pull-up that is not above zero; a sensor below zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 6, "Voltage divider circuits"; that such a circuit reads high
    /// when open: US Army TM 5-3805-291-23-1, WP 0013.
    ///
    /// ```rhai
    /// pull_up_volts(5.V, 10.kohm, 32.65.kohm)  // 3.828 V
    /// ```
    fn pull_up_volts(supply: Volts, pull_up: Ohms, sensor: Ohms) -> Volts {
        above_zero::<Ohms>("pull_up", pull_up)?;
        not_below_zero::<Ohms>("sensor", sensor)?;
        Ok(supply * sensor / (pull_up + sensor))
    }

    /// Resistance of a sensor on a pull-up, from the volts at its signal pin.
    ///
    /// The inverse of `pull_up_volts`: pull-up × signal ÷ (supply − signal).
    ///
    /// Errors: a pull-up or supply that is not above zero; a signal below 0 V or not below the supply (an open circuit or a
    /// short to a higher voltage: no resistance follows from it).
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 6, "Voltage divider circuits".
    ///
    /// ```rhai
    /// pull_up_sensor(5.V, 10.kohm, 2.5.V)  // 10 kΩ
    /// ```
    fn pull_up_sensor(supply: Volts, pull_up: Ohms, signal: Volts) -> Ohms {
        above_zero::<Ohms>("pull_up", pull_up)?;
        above_zero::<Volts>("supply", supply)?;
        within::<Volts>("signal", signal, 0.0, supply)?;
        in_order::<Volts>(("signal", signal), ("supply", supply))?;
        Ok(pull_up * signal / (supply - signal))
    }
}
