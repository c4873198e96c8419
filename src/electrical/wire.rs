//! Wire: resistance from gauge, length and temperature; what it drops; which is thick enough.

use super::door::{
    Amperes, Area, GaugeNumber, Length, Ohms, OhmsPerLength, Resistivity, Temperature, Text, Volts, Whole, above_zero,
    helpers, not_below_zero, within,
};
use super::error::{Allowed, ArgumentError, Given};
use super::results::results;
use super::wire_tables as tables;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use crate::model::unit::significant;

/// Resistivity of annealed copper at 20 °C, ohm meters (IEC 60028: 1/58 Ω·mm²/m).
pub(super) const COPPER: f64 = 1e-6 / 58.0;
/// Temperature coefficient of annealed copper's resistance at 20 °C, per kelvin (IEC 60028).
pub(super) const COPPER_COEFFICIENT: f64 = 0.00393;

results! {
    /// The thinnest wire that keeps a drop.
    pub struct WireChoice = "wire" {
        /// The gauge: `AWG 12`, `2.5 mm²`.
        gauge: String,
        /// Cross section.
        area: Quantity,
        /// Ohms per meter at 20 °C.
        per_length: Quantity,
        /// Its voltage drop.
        drop: Quantity,
    }
}

fn diameter(gauge: i64) -> f64 {
    0.005 * 0.0254 * 92f64.powf((36 - gauge) as f64 / 39.0)
}

fn area(gauge: i64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter(gauge).powi(2)
}

/// `AWG 12`, `AWG 4/0`.
fn name(gauge: i64) -> String {
    if gauge > 0 { format!("AWG {gauge}") } else { format!("AWG {}/0", 1 - gauge) }
}

fn quantity(si: f64, dimension: Dimension) -> Quantity {
    Quantity::new(si, dimension)
}

/// The row of this cross section, in ohms per meter.
fn row(table: &'static str, rows: &[tables::Row], wanted: f64) -> Result<f64, ArgumentError> {
    let found = rows.iter().find(|(area, _)| (area * 1e-6 - wanted).abs() <= wanted.abs() * 1e-9);
    found.map(|(_, per_km)| per_km * 1e-3).ok_or_else(|| ArgumentError::NotInTable {
        table,
        given: Given::Quantity(quantity(wanted, Dimension::AREA)),
        known: rows.iter().map(|(area, _)| area.to_string()).collect::<Vec<_>>().join(", ") + " mm²",
    })
}

fn iec_rows(class: i64, coated: bool) -> Result<&'static [tables::Row], ArgumentError> {
    match (class, coated) {
        (1 | 2, false) => Ok(tables::IEC_60228_CLASS_2),
        (1 | 2, true) => Ok(tables::IEC_60228_CLASS_2_COATED),
        (5 | 6, false) => Ok(tables::IEC_60228_CLASS_5),
        (5 | 6, true) => Ok(tables::IEC_60228_CLASS_5_COATED),
        _ => Err(ArgumentError::OutOfRange {
            argument: "class",
            allowed: Allowed::OneOf(&["1 (solid)", "2 (stranded)", "5 (flexible)", "6 (extra flexible)"]),
            given: Given::Number(class as f64),
        }),
    }
}

/// What a path must keep: amperes, meters and the drop that is allowed, all above zero.
struct Path {
    amperes: f64,
    meters: f64,
    allowed: f64,
}

impl Path {
    fn new(amperes: f64, meters: f64, allowed: f64) -> Result<Self, ArgumentError> {
        above_zero::<Amperes>("current", amperes)?;
        above_zero::<Length>("length", meters)?;
        above_zero::<Volts>("drop", allowed)?;
        Ok(Self { amperes, meters, allowed })
    }

    /// The first of these wires, thinnest first, that keeps the drop; ohms per meter.
    fn thinnest(
        &self,
        table: &'static str,
        wires: impl IntoIterator<Item = (String, f64, f64)>,
    ) -> Result<WireChoice, ArgumentError> {
        let mut thickest = (String::new(), f64::INFINITY);
        for (gauge, area, per_meter) in wires {
            let drop = self.amperes * self.meters * per_meter;
            if drop <= self.allowed * (1.0 + 1e-12) {
                let per_length = quantity(per_meter, Dimension::RESISTANCE_PER_LENGTH);
                return Ok(WireChoice {
                    gauge,
                    area: quantity(area, Dimension::AREA),
                    per_length,
                    drop: Quantity::volts(drop),
                });
            }
            thickest = (gauge, drop);
        }
        Err(ArgumentError::NoneThickEnough { table, thickest: thickest.0, drop: Quantity::volts(thickest.1) })
    }
}

fn metric(rows: &[tables::Row]) -> impl Iterator<Item = (String, f64, f64)> {
    rows.iter().map(|(area, per_km)| (format!("{} mm²", significant(*area, 4)), area * 1e-6, per_km * 1e-3))
}

helpers! { "Wire";
    /// Ohms per meter of solid copper wire of an American gauge, at 20 °C.
    ///
    /// Diameter = 0.005 in × 92^((36 − gauge) ÷ 39), the gauge's definition; resistivity 1/58 Ω·mm²/m. A gauge is a number or
    /// a text: `14`, `"2/0"`, `"000"`; 4/0 is −3. For stranded wire see `stranded_awg`.
    ///
    /// Errors: a gauge that is none, thicker than 4/0 or thinner than 56.
    ///
    /// Source: ASTM B258 (by way of the definitions file of GNU units 2.22); IEC 60028:1925 for copper; tables of NBS
    /// Handbook 100.
    ///
    /// ```rhai
    /// awg(14)  // 8.286 mΩ/m
    /// awg("4/0")  // 160.8 µΩ/m
    /// ```
    fn awg(gauge: GaugeNumber) -> OhmsPerLength {
        Ok(COPPER / area(gauge))
    }

    /// Diameter of a solid wire of an American gauge.
    ///
    /// 0.005 in × 92^((36 − gauge) ÷ 39), as a length. A gauge is a number or a text, as in `awg`.
    ///
    /// Errors: a gauge that is none, thicker than 4/0 or thinner than 56.
    ///
    /// Source: ASTM B258, by way of the definitions file of GNU units 2.22.
    ///
    /// ```rhai
    /// awg_diameter(18)  // 1.024 mm
    /// ```
    fn awg_diameter(gauge: GaugeNumber) -> Length {
        Ok(diameter(gauge))
    }

    /// Cross section of a solid wire of an American gauge.
    ///
    /// π ÷ 4 × diameter², as a cross section. A gauge is a number or a text, as in `awg`.
    ///
    /// Errors: a gauge that is none, thicker than 4/0 or thinner than 56.
    ///
    /// Source: ASTM B258, by way of the definitions file of GNU units 2.22.
    ///
    /// ```rhai
    /// awg_area(14)  // 2.081 mm²
    /// ```
    fn awg_area(gauge: GaugeNumber) -> Area {
        Ok(area(gauge))
    }

    /// The American gauge that is nearest to a cross section, by ratio.
    ///
    /// The inverse of the defining formula, rounded to a whole gauge; gives a text such as `AWG 14`.
    ///
    /// Errors: a cross section that is not above zero, or beyond 4/0 to 56 (107.2 mm² to 0.000125 mm²) by more than half a gauge.
    ///
    /// Source: ASTM B258, by way of the definitions file of GNU units 2.22.
    ///
    /// ```rhai
    /// nearest_awg(2.5.mm2)  // AWG 13
    /// ```
    fn nearest_awg(cross_section: Area) -> Text {
        above_zero::<Area>("cross_section", cross_section)?;
        let inches = (cross_section / std::f64::consts::FRAC_PI_4).sqrt() / 0.0254;
        let gauge = 36.0 - 39.0 * (inches / 0.005).ln() / 92f64.ln();
        if !(-3.5..=56.5).contains(&gauge) {
            within::<Area>("cross_section", cross_section, area(56), area(-3))?;
        }
        Ok(name((gauge.round() as i64).clamp(-3, 56)))
    }

    /// Ohms per meter, at most, of stranded tin-plated wire of an American gauge, at 20 °C.
    ///
    /// A table, not a formula: 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 1/0, 2/0, 3/0, 4/0.
    ///
    /// Errors: a gauge that the table does not have.
    ///
    /// Source: FAA AC 43.13-1B CHG 1 (2001), Table 11-9.
    ///
    /// ```rhai
    /// stranded_awg(14)  // 10.04 mΩ/m
    /// ```
    fn stranded_awg(gauge: GaugeNumber) -> OhmsPerLength {
        let rows = tables::STRANDED_AWG;
        let found = rows.iter().find(|(number, _)| *number == gauge);
        found.map(|(_, per_kft)| per_kft / 304.8).ok_or_else(|| ArgumentError::NotInTable {
            table: "AC 43.13-1B Table 11-9",
            given: Given::Text(name(gauge)),
            known: rows.iter().map(|(number, _)| name(*number)).collect::<Vec<_>>().join(", "),
        })
    }

    /// Ohms per meter, at most, of plain copper wire of a metric cross section, at 20 °C.
    ///
    /// A table, not a formula: 0.5 to 120 mm², by class: 1 solid, 2 stranded, 5 flexible, 6 extra flexible.
    ///
    /// Errors: a class or a cross section that the table does not have.
    ///
    /// Source: IEC 60228:2004, Tables 1 to 3; seen in four independent copies, not in the standard itself.
    ///
    /// ```rhai
    /// iec_60228(1.5.mm2, 5)  // 13.3 mΩ/m
    /// ```
    fn iec_60228(cross_section: Area, class: Whole) -> OhmsPerLength {
        row("IEC 60228", iec_rows(class, false)?, cross_section)
    }

    /// Ohms per meter, at most, of tinned copper wire of a metric cross section, at 20 °C.
    ///
    /// As `iec_60228`, for metal-coated strands.
    ///
    /// Errors: a class or a cross section that the table does not have.
    ///
    /// Source: IEC 60228:2004, Tables 1 to 3; seen in four independent copies, not in the standard itself.
    ///
    /// ```rhai
    /// iec_60228_tinned(1.5.mm2, 5)  // 13.7 mΩ/m
    /// ```
    fn iec_60228_tinned(cross_section: Area, class: Whole) -> OhmsPerLength {
        row("IEC 60228", iec_rows(class, true)?, cross_section)
    }

    /// Ohms per meter, at most, of road-vehicle cable of a metric cross section, bare copper, at 20 °C.
    ///
    /// A table, not a formula: 0.13 to 50 mm².
    ///
    /// Errors: a cross section that the table does not have.
    ///
    /// Source: ISO 6722-1:2011, from memory: no copy of the table was found. Where much hangs on it, use the cable's own
    /// data or `iec_60228`. 0.13 and 5 mm² are the least sure.
    ///
    /// ```rhai
    /// iso_6722(0.5.mm2)  // 37.1 mΩ/m
    /// ```
    fn iso_6722(cross_section: Area) -> OhmsPerLength {
        row("ISO 6722-1", tables::ISO_6722, cross_section)
    }

    /// Ohms per meter of pure copper of any cross section, at 20 °C.
    ///
    /// 1/58 Ω·mm²/m ÷ cross section. A standard's figure for a stranded wire of this size is 5 to 10 % higher.
    ///
    /// Errors: a cross section that is not above zero.
    ///
    /// Source: IEC 60028:1925, by way of the definitions file of GNU units 2.22.
    ///
    /// ```rhai
    /// copper(1.mm2)  // 17.24 mΩ/m
    /// ```
    fn copper(cross_section: Area) -> OhmsPerLength {
        Ok(COPPER / above_zero::<Area>("cross_section", cross_section)?)
    }

    /// Ohms per meter of a conductor of any metal: its resistivity over its cross section.
    ///
    /// Ohm meters ÷ cross section.
    ///
    /// Errors: a resistivity or cross section that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 12, "Specific resistance".
    ///
    /// ```rhai
    /// conductor(2.65e-8.ohm_m, 1200.mm2)  // 22.08 µΩ/m
    /// ```
    fn conductor(resistivity: Resistivity, cross_section: Area) -> OhmsPerLength {
        Ok(above_zero::<Resistivity>("resistivity", resistivity)? / above_zero::<Area>("cross_section", cross_section)?)
    }

    /// Ohms per meter of a copper wire at another temperature, from those at 20 °C.
    ///
    /// At 20 °C × (1 + 0.00393 × (°C − 20)).
    ///
    /// Errors: ohms per meter not above zero; a temperature beyond −60 to 250 °C, where the straight line no longer holds.
    ///
    /// Source: coefficient of annealed copper at 20 °C, IEC 60028:1925, seen in secondary copies; the bounds are common
    /// practice, no source.
    ///
    /// ```rhai
    /// copper_at(awg(14), 85.degC)  // 10.4 mΩ/m
    /// ```
    fn copper_at(wire: OhmsPerLength, temperature: Temperature) -> OhmsPerLength {
        above_zero::<OhmsPerLength>("wire", wire)?;
        within::<Temperature>("temperature", temperature, -60.0, 250.0)?;
        Ok(wire * (1.0 + COPPER_COEFFICIENT * (temperature - 20.0)))
    }

    /// Resistance of a length of wire.
    ///
    /// Ohms per meter × length.
    ///
    /// Errors: ohms per meter or a length below zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 12, "Specific resistance".
    ///
    /// ```rhai
    /// wire_resistance(awg(18), 4.m)  // 83.79 mΩ
    /// ```
    fn wire_resistance(wire: OhmsPerLength, length: Length) -> Ohms {
        Ok(not_below_zero::<OhmsPerLength>("wire", wire)? * not_below_zero::<Length>("length", length)?)
    }

    /// Volts lost along one wire, one way.
    ///
    /// Amperes × ohms per meter × length. For a feed and a return of the same wire use `wire_drop_both_ways`. The sign
    /// follows the current.
    ///
    /// Errors: ohms per meter or a length below zero.
    ///
    /// Source: FAA AC 43.13-1B CHG 1, Table 11-7 (drop = ohms per foot × feet × amperes).
    ///
    /// ```rhai
    /// wire_drop(10.A, awg(14), 5.m)  // 414.3 mV
    /// ```
    fn wire_drop(current: Amperes, wire: OhmsPerLength, length: Length) -> Volts {
        Ok(current * not_below_zero::<OhmsPerLength>("wire", wire)? * not_below_zero::<Length>("length", length)?)
    }

    /// Volts lost along a feed and a return of the same wire and length.
    ///
    /// 2 × amperes × ohms per meter × length, the length being one way.
    ///
    /// Errors: ohms per meter or a length below zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 12, "Specific resistance" (a load at the end of two wires).
    ///
    /// ```rhai
    /// wire_drop_both_ways(10.A, awg(14), 5.m)  // 828.6 mV
    /// ```
    fn wire_drop_both_ways(current: Amperes, wire: OhmsPerLength, length: Length) -> Volts {
        Ok(2.0 * current * not_below_zero::<OhmsPerLength>("wire", wire)? * not_below_zero::<Length>("length", length)?)
    }

    /// Amperes through a known wire, from the volts along it.
    ///
    /// Volts ÷ (ohms per meter × length): a current without cutting into the wire.
    ///
    /// Errors: ohms per meter or a length that is not above zero.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Ammeter design" (a known resistance as a shunt).
    ///
    /// ```rhai
    /// current_in_wire(3.2.mV, awg(6), 30.cm)  // 8.229 A
    /// ```
    fn current_in_wire(drop: Volts, wire: OhmsPerLength, length: Length) -> Amperes {
        Ok(drop / (above_zero::<OhmsPerLength>("wire", wire)? * above_zero::<Length>("length", length)?))
    }

    /// The longest run of a wire that keeps a drop.
    ///
    /// Drop ÷ (amperes × ohms per meter). The length is that of the whole conductor: half of it for a feed and a return.
    ///
    /// Errors: amperes, ohms per meter or a drop that is not above zero.
    ///
    /// Source: FAA AC 43.13-1B CHG 1, Table 11-8.
    ///
    /// ```rhai
    /// longest_wire(20.A, stranded_awg(12), 1.V)  // 7.545 m
    /// ```
    fn longest_wire(current: Amperes, wire: OhmsPerLength, drop: Volts) -> Length {
        above_zero::<Amperes>("current", current)?;
        Ok(above_zero::<Volts>("drop", drop)? / (current * above_zero::<OhmsPerLength>("wire", wire)?))
    }

    /// The thinnest American gauge of solid copper that keeps a drop.
    ///
    /// Tries 40, 39 … 1, 1/0 … 4/0 at 20 °C. The length is that of the whole conductor: twice the run for a feed and a
    /// return. It looks at the drop only: whether the wire also bears the heat is another question. Fields: `gauge`, `area`,
    /// `per_length`, `drop`.
    ///
    /// Errors: amperes, length or drop not above zero; not even 4/0 keeps it.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 12, "Specific resistance" (choosing a gauge for a drop); ASTM
    /// B258 for the gauges.
    ///
    /// ```rhai
    /// thinnest_awg(15.A, 6.m, 0.5.V)  // gauge AWG 12, area 3.309 mm², per length 5.211 mΩ/m, drop 469 mV
    /// ```
    fn thinnest_awg(current: Amperes, length: Length, drop: Volts) -> WireChoice {
        let gauges = (-3..=40).rev().map(|gauge| (name(gauge), area(gauge), COPPER / area(gauge)));
        Path::new(current, length, drop)?.thinnest("AWG", gauges)
    }

    /// The thinnest plain copper wire of a metric cross section and class that keeps a drop.
    ///
    /// Tries the sizes of IEC 60228 from 0.5 to 120 mm² at 20 °C. The length is that of the whole conductor. Looks at the
    /// drop only. Fields: `gauge`, `area`, `per_length`, `drop`.
    ///
    /// Errors: amperes, length or drop not above zero; a class that is none; no size keeps it.
    ///
    /// Source: IEC 60228:2004, Tables 1 to 3; seen in four independent copies, not in the standard itself.
    ///
    /// ```rhai
    /// thinnest_iec_60228(15.A, 6.m, 0.5.V, 5)  // gauge 4 mm², area 4 mm², per length 4.95 mΩ/m, drop 445.5 mV
    /// ```
    fn thinnest_iec_60228(current: Amperes, length: Length, drop: Volts, class: Whole) -> WireChoice {
        Path::new(current, length, drop)?.thinnest("IEC 60228", metric(iec_rows(class, false)?))
    }

    /// The thinnest road-vehicle cable that keeps a drop.
    ///
    /// Tries the sizes of ISO 6722-1 from 0.13 to 50 mm² at 20 °C. The length is that of the whole conductor. Looks at the
    /// drop only. Fields: `gauge`, `area`, `per_length`, `drop`.
    ///
    /// Errors: amperes, length or drop not above zero; no size keeps it.
    ///
    /// Source: ISO 6722-1:2011, from memory, as `iso_6722`.
    ///
    /// ```rhai
    /// thinnest_iso_6722(15.A, 6.m, 0.5.V).gauge  // 4 mm²
    /// ```
    fn thinnest_iso_6722(current: Amperes, length: Length, drop: Volts) -> WireChoice {
        Path::new(current, length, drop)?.thinnest("ISO 6722-1", metric(tables::ISO_6722))
    }
}
