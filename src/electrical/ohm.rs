//! Ohm's and Joule's laws.

use super::door::{Amperes, Any, Ohms, Volts, above_zero, helpers, in_order, not_below_zero};
use super::error::ArgumentError;
use super::results::results;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;

results! {
    /// A load: its volts, amperes, ohms and watts.
    pub struct Load = "load" {
        /// Volts across it.
        volts: Quantity,
        /// Amperes through it.
        amperes: Quantity,
        /// Its resistance.
        ohms: Quantity,
        /// Watts turned to heat in it.
        watts: Quantity,
    }
}

impl Load {
    /// From volts and ohms, in SI.
    pub(super) fn of(volts: f64, ohms: f64) -> Self {
        let amperes = volts / ohms;
        Self {
            volts: Quantity::volts(volts),
            amperes: Quantity::amperes(amperes),
            ohms: Quantity::ohms(ohms),
            watts: Quantity::new(volts * amperes, Dimension::POWER),
        }
    }
}

helpers! { "Ohm's and Joule's laws";
    /// Any two of volts, amperes, ohms and watts give the other two.
    ///
    /// V = A × Ω and W = V × A. The two may come in either order; their units tell which they are. Fields: `volts`,
    /// `amperes`, `ohms`, `watts`. Volts and amperes may be below zero together (a lead the wrong way around).
    ///
    /// Errors: two of one kind; ohms or watts below zero; a pair that fixes nothing, such as no volts and no amperes.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 2, "Ohm's Law" and "Calculating electric power".
    ///
    /// ```rhai
    /// ohms_law(12.V, 3.ohm)  // volts 12 V, amperes 4 A, ohms 3 Ω, watts 48 W
    /// ohms_law(55.W, 12.8.V).amperes  // 4.297 A
    /// ```
    fn ohms_law(one: Any, other: Any) -> Load {
        use Dimension as D;
        let (left, right) = (one, other);
        let rank = |quantity: Quantity| {
            [D::VOLTAGE, D::CURRENT, D::RESISTANCE, D::POWER]
                .iter()
                .position(|&dimension| dimension == quantity.dimension())
        };
        let not_two = ArgumentError::NotTwoOfFour { left, right };
        let (Some(first), Some(second)) = (rank(left), rank(right)) else { return Err(not_two) };
        let ((kind, a), (_, b)) = if first < second {
            ((first * 4 + second, left.si()), (second, right.si()))
        } else {
            ((second * 4 + first, right.si()), (first, left.si()))
        };
        let (volts, ohms) = match kind {
            // volts and amperes
            1 => (a, a / b),
            // volts and ohms
            2 => (a, b),
            // volts and watts
            3 => (a, a * a / b),
            // amperes and ohms
            6 => (a * b, b),
            // amperes and watts
            7 => (b / a, b / (a * a)),
            // ohms and watts
            11 => ((a * b).sqrt(), a),
            _ => return Err(not_two),
        };
        let load = Load::of(volts, ohms);
        // A pair that fixes nothing ends here too: no volts and no amperes leave the ohms open.
        if ohms < 0.0 || load.watts.si() < 0.0 || volts.is_nan() || ohms.is_nan() {
            return Err(ArgumentError::NoLoad { left, right });
        }
        Ok(load)
    }

    /// What an open-circuit source and its inner resistance give to a load.
    ///
    /// A = V ÷ (Ω of the source + Ω of the load); the load gets the rest. Fields of the load: `volts`, `amperes`, `ohms`,
    /// `watts`. Holds for any source that is a voltage in series with a resistance: a battery, a supply after a bad joint.
    ///
    /// Errors: a resistance below zero; both zero.
    ///
    /// Source: OpenStax College Physics 2e, module m42357, "Electromotive force: terminal voltage".
    ///
    /// ```rhai
    /// loaded_source(12.V, 0.1.ohm, 0.5.ohm)  // volts 10 V, amperes 20 A, ohms 500 mΩ, watts 200 W
    /// ```
    fn loaded_source(open_volts: Volts, source_resistance: Ohms, load: Ohms) -> Load {
        not_below_zero::<Ohms>("source_resistance", source_resistance)?;
        not_below_zero::<Ohms>("load", load)?;
        let amperes = open_volts / (source_resistance + load);
        Ok(Load {
            volts: Quantity::volts(amperes * load),
            amperes: Quantity::amperes(amperes),
            ohms: Quantity::ohms(load),
            watts: Quantity::new(amperes * amperes * load, Dimension::POWER),
        })
    }

    /// Resistance of a source, from its volts without and with a load.
    ///
    /// Ω = (open − loaded) ÷ A, with the load given as its amperes or as its ohms (A = loaded volts ÷ ohms). Use it on a
    /// battery, or on any feed: it is the resistance of everything between the source and the leads.
    ///
    /// Errors: a load that is neither amperes nor ohms, or not above zero; loaded volts above the open ones; volts below zero
    /// (swapped leads).
    ///
    /// Source: OpenStax College Physics 2e, module m42357 (terminal voltage = emf − current × internal resistance).
    ///
    /// ```rhai
    /// source_resistance(12.6.V, 10.2.V, 180.A)  // 13.33 mΩ
    /// source_resistance(12.0.V, 10.V, 0.5.ohm)  // 100 mΩ
    /// ```
    fn source_resistance(open_volts: Volts, loaded_volts: Volts, load: Any) -> Ohms
    where since 3 {
        for (argument, volts) in [("open_volts", open_volts), ("loaded_volts", loaded_volts)] {
            if volts < 0.0 {
                return Err(ArgumentError::Swapped { argument, given: Quantity::volts(volts) });
            }
        }
        Ok(())
    }
    {
        let amperes = match load.dimension() {
            Dimension::CURRENT => above_zero::<Amperes>("load", load.si())?,
            Dimension::RESISTANCE => loaded_volts / above_zero::<Ohms>("load", load.si())?,
            _ => {
                return Err(ArgumentError::WrongKind { argument: "load", wanted: "amperes or ohms", given: load.to_string() });
            }
        };
        if loaded_volts > open_volts {
            in_order::<Volts>(("loaded_volts", loaded_volts), ("open_volts", open_volts))?;
        }
        Ok((open_volts - loaded_volts) / amperes)
    }
}
