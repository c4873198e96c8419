//! Wire tables and worked examples.

use crate::check::{Check, Source, Status, figures, q, values};
use ohmwright::electrical::coil::resistance_at;
use ohmwright::electrical::door::Gauge;
use ohmwright::electrical::network::series;
use ohmwright::electrical::ohm::ohms_law;
use ohmwright::electrical::wire::*;
use ohmwright::model::quantity::Quantity;

const TABLE: Source =
    Source::seen("HyperPhysics, Georgia State University, American wire gauge table (hbase/Tables/wirega)");
const UNITS: Source = Source::seen("GNU units 2.22, definitions file");
const FAA: Source = Source::seen("FAA AC 43.13-1B CHG 1 (27 Sep 2001)");
const IEC: Source = Source::seen("IEC 60228:2004, from a public copy");
const ISO: Source = Source::seen("ISO 6722-1:2011").known(Status::FromMemory);
const LESSONS: Source = Source::seen("Lessons in Electric Circuits, vol. I (DC)");
const OPENSTAX: Source = Source::seen("OpenStax College Physics 2e");

/// Gauge, diameter in mil, area in circular mil, ohms per 1000 ft. Left out where the printed figure is not the rounded one of
/// the definition (2/0: 0.0780 Ω for 0.07793; area of 18, 20 … are circular mils of the rounded diameter).
const SOLID: &[(&str, &str, &str)] = &[
    ("0000", "11.684 mm", "0.0490 ohm_per_kft"),
    ("4", "5.189 mm", "0.2485 ohm_per_kft"),
    ("6", "4.115 mm", "0.3951 ohm_per_kft"),
    ("8", "3.264 mm", "0.6282 ohm_per_kft"),
    ("12", "2.053 mm", "1.588 ohm_per_kft"),
    ("14", "1.628 mm", "2.525 ohm_per_kft"),
    ("16", "1.291 mm", "4.016 ohm_per_kft"),
    ("18", "1.024 mm", "6.385 ohm_per_kft"),
    ("20", "0.812 mm", "10.15 ohm_per_kft"),
    ("22", "0.644 mm", "16.14 ohm_per_kft"),
    ("24", "0.511 mm", "25.67 ohm_per_kft"),
];

/// Diameter in mil, as printed.
const MILS: &[(i64, &str)] = &[
    (-3, "460.0"),
    (-1, "364.8"),
    (4, "204.3"),
    (6, "162.0"),
    (8, "128.5"),
    (10, "101.9"),
    (12, "80.8"),
    (14, "64.08"),
    (16, "50.82"),
    (18, "40.30"),
    (20, "31.96"),
    (22, "25.35"),
    (24, "20.10"),
];

/// Cross section in mm², computed from the definition.
const AREAS: &[(i64, &str)] = &[
    (-3, "107.22 mm2"),
    (-1, "67.43 mm2"),
    (4, "21.15 mm2"),
    (6, "13.30 mm2"),
    (8, "8.366 mm2"),
    (10, "5.261 mm2"),
    (12, "3.309 mm2"),
    (14, "2.081 mm2"),
    (16, "1.309 mm2"),
    (18, "0.8230 mm2"),
    (20, "0.5176 mm2"),
    (22, "0.3255 mm2"),
    (24, "0.2047 mm2"),
];

/// Area of stranded wire in circular mils, as printed, and its gauge. Left out where another gauge of solid wire is nearer (18).
const CIRCULAR_MILS: &[(&str, &str)] = &[
    ("2426 cmil", "AWG 16"),
    ("3831 cmil", "AWG 14"),
    ("5874 cmil", "AWG 12"),
    ("9354 cmil", "AWG 10"),
    ("16983 cmil", "AWG 8"),
    ("26818 cmil", "AWG 6"),
    ("42615 cmil", "AWG 4"),
    ("66500 cmil", "AWG 2"),
    ("81700 cmil", "AWG 1"),
    ("104500 cmil", "AWG 1/0"),
    ("133000 cmil", "AWG 2/0"),
    ("166500 cmil", "AWG 3/0"),
    ("210900 cmil", "AWG 4/0"),
];

const STRANDED: &[(&str, &str)] = &[
    ("24", "28.40"),
    ("22", "16.20"),
    ("20", "9.88"),
    ("18", "6.23"),
    ("16", "4.81"),
    ("14", "3.06"),
    ("12", "2.02"),
    ("10", "1.26"),
    ("8", "0.70"),
    ("6", "0.44"),
    ("4", "0.28"),
    ("2", "0.18"),
    ("1", "0.15"),
    ("0", "0.12"),
    ("00", "0.09"),
    ("000", "0.07"),
    ("0000", "0.06"),
];

/// mm²; Ω/km of classes 1 and 2 plain, coated, 5 and 6 plain, coated.
const METRIC: &[(&str, [&str; 4])] = &[
    ("0.5", ["36.0", "36.7", "39.0", "40.1"]),
    ("0.75", ["24.5", "24.8", "26.0", "26.7"]),
    ("1", ["18.1", "18.2", "19.5", "20.0"]),
    ("1.5", ["12.1", "12.2", "13.3", "13.7"]),
    ("2.5", ["7.41", "7.56", "7.98", "8.21"]),
    ("4", ["4.61", "4.70", "4.95", "5.09"]),
    ("6", ["3.08", "3.11", "3.30", "3.39"]),
    ("10", ["1.83", "1.84", "1.91", "1.95"]),
    ("16", ["1.15", "1.16", "1.21", "1.24"]),
    ("25", ["0.727", "0.734", "0.780", "0.795"]),
    ("35", ["0.524", "0.529", "0.554", "0.565"]),
    ("50", ["0.387", "0.391", "0.386", "0.393"]),
    ("70", ["0.268", "0.270", "0.272", "0.277"]),
    ("95", ["0.193", "0.195", "0.206", "0.210"]),
    ("120", ["0.153", "0.154", "0.161", "0.164"]),
];

/// mm², mΩ/m.
const VEHICLE: &[(&str, &str)] = &[
    ("0.13", "136"),
    ("0.22", "84.8"),
    ("0.35", "54.4"),
    ("0.5", "37.1"),
    ("0.75", "24.7"),
    ("1", "18.5"),
    ("1.25", "14.9"),
    ("1.5", "12.7"),
    ("2", "9.42"),
    ("2.5", "7.60"),
    ("3", "6.15"),
    ("4", "4.71"),
    ("5", "3.94"),
    ("6", "3.14"),
    ("8", "2.38"),
    ("10", "1.82"),
    ("16", "1.16"),
    ("25", "0.743"),
    ("35", "0.527"),
    ("50", "0.368"),
];

/// Factor that brings ohms at a temperature to 20 °C.
const TO_TWENTY: &[(f64, &str)] = &[
    (5.0, "1.064"),
    (10.0, "1.042"),
    (15.0, "1.020"),
    (25.0, "0.980"),
    (30.0, "0.962"),
    (40.0, "0.926"),
    (60.0, "0.862"),
    (80.0, "0.806"),
    (100.0, "0.758"),
];

fn gauge(text: &str) -> Gauge {
    Gauge::Text(text.to_owned())
}

pub fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    for (name, diameter, per_kft) in SOLID {
        let source = TABLE.at("solid copper, 20 °C");
        checks.push(Check::quantity(&format!("awg({name})"), awg(gauge(name)), per_kft, source));
        let computed = TABLE.at("diameter by the defining formula").known(Status::Computed);
        checks.push(Check::quantity(
            &format!("awg_diameter({name}) in mm"),
            awg_diameter(gauge(name)),
            diameter,
            computed,
        ));
    }
    for (number, mils) in MILS {
        let got = awg_diameter(Gauge::Number(*number)).map(|length| length.si() / 0.0254e-3);
        checks.push(Check::number(
            &format!("awg_diameter({number}) in mil"),
            got,
            mils,
            TABLE.at("solid copper, 20 °C"),
        ));
    }
    for (area, gauge) in CIRCULAR_MILS {
        let source = FAA.at("Table 11-9, circular mils");
        checks.push(Check::text(&format!("nearest_awg({area})"), nearest_awg(q(area)), gauge, source));
    }
    figures!(checks, UNITS.at("4/0 is 0.46 in: 460 mil squared");
        awg_area(Gauge::Number(-3)) => "211600 cmil",
    );
    for (number, area) in AREAS {
        let source = TABLE.at("cross section by the defining formula").known(Status::Computed);
        checks.push(Check::quantity(&format!("awg_area({number})"), awg_area(Gauge::Number(*number)), area, source));
    }
    for (name, per_kft) in STRANDED {
        let got = stranded_awg(gauge(name)).map(|wire| wire.si() * 304.8);
        checks.push(Check::number(&format!("stranded_awg({name})"), got, per_kft, FAA.at("Table 11-9, p. 11-23")));
    }
    for (size, [plain_2, coated_2, plain_5, coated_5]) in METRIC {
        let area = q(&format!("{size} mm2"));
        for (class, got, per_km) in [
            ("1 plain", iec_60228(area, 1), plain_2),
            ("2 plain", iec_60228(area, 2), plain_2),
            ("1 coated", iec_60228_tinned(area, 1), coated_2),
            ("2 coated", iec_60228_tinned(area, 2), coated_2),
            ("5 plain", iec_60228(area, 5), plain_5),
            ("6 plain", iec_60228(area, 6), plain_5),
            ("5 coated", iec_60228_tinned(area, 5), coated_5),
            ("6 coated", iec_60228_tinned(area, 6), coated_5),
        ] {
            let got = got.map(|wire| wire.si() * 1e3);
            checks.push(Check::number(
                &format!("IEC 60228 {size} mm², class {class}"),
                got,
                per_km,
                IEC.at("Tables 1 to 3"),
            ));
        }
    }
    for (size, per_meter) in VEHICLE {
        let got = iso_6722(q(&format!("{size} mm2"))).map(|wire| wire.si() * 1e3);
        checks.push(Check::number(
            &format!("iso_6722({size} mm²)"),
            got,
            per_meter,
            ISO.at("conductor resistance table"),
        ));
    }
    for (celsius, factor) in TO_TWENTY {
        let hot = resistance_at(q("1 ohm"), q("20 degC"), Quantity::celsius(*celsius), q("0.4 pct"));
        let got = hot.map(|ohms| 1.0 / ohms.si());
        checks.push(Check::number(
            &format!("factor from {celsius} °C"),
            got,
            factor,
            IEC.at("temperature factors, 250/(230 + t)").known(Status::Computed),
        ));
    }
    figures!(checks, UNITS.at("wire gauges, the two that define the others");
        awg_diameter(Gauge::Number(36)) => "0.005 inch",
        awg_diameter(Gauge::Number(-3)) => "0.4600 inch",
    );
    values!(checks, UNITS.at("wiregauge, and copper of 1/58 ohm mm²/m").known(Status::Computed);
        awg_diameter(Gauge::Number(12)) => "0.080808 inch",
        awg_diameter(Gauge::Number(18)) => "1.02369 mm",
        copper(q("1 mm2")) => "17.241 ohm_per_km",
    );
    // Rows whose printed figures do not follow from their own inputs are left out: Table 11-7 row 3, Table 11-8 row 2.
    values!(checks, FAA.at("Tables 11-7 and 11-8, p. 11-22");
        wire_drop(q("20 A"), q("0.44 ohm_per_kft"), q("107 ft")) => "0.942 V",
        wire_drop(q("20 A"), q("0.28 ohm_per_kft"), q("90 ft")) => "0.504 V",
        wire_drop(q("20 A"), q("3.06 ohm_per_kft"), q("100 ft")) => "6.12 V",
        wire_drop(q("20 A"), q("1.26 ohm_per_kft"), q("39 ft")) => "0.98 V",
    );
    values!(checks, FAA.at("Tables 11-7 and 11-8, p. 11-22, read the other way").known(Status::Computed);
        wire_drop(q("20 A"), stranded_awg(Gauge::Number(6)).unwrap(), q("107 ft")) => "0.942 V",
        longest_wire(q("20 A"), q("0.44 ohm_per_kft"), q("0.942 V")) => "107 ft",
        longest_wire(q("20 A"), q("0.28 ohm_per_kft"), q("0.504 V")) => "90 ft",
        current_in_wire(q("0.504 V"), q("0.28 ohm_per_kft"), q("90 ft")) => "20 A",
    );
    // 10.09 Ω·cmil/ft in ohm meters: a circular mil is π/4 × (25.4 µm)².
    let lessons_copper = q("1.677378e-8 ohm_m");
    values!(checks, LESSONS.at("ch. 12, Specific resistance");
        wire_resistance(conductor(lessons_copper, q("58.7958 mm2")).unwrap(), q("2300 ft")) => "0.2000 ohm",
        ohms_law(q("5 V"), q("25 A")).map(|load| load.ohms) => "0.2 ohm",
        wire_resistance(conductor(q("2.65e-8 ohm_m"), q("1200 mm2")).unwrap(), q("125 cm")) => "27.604 uohm",
    );
    values!(checks, LESSONS.at("ch. 12, Temperature coefficient of resistance");
        resistance_at(q("15 ohm"), q("20 degC"), q("35 degC"), q("0.4041 pct")) => "15.909 ohm",
        ohms_law(q("14 V"), series(vec![q("15 ohm"), q("15 ohm"), q("250 ohm")]).unwrap()).map(|load| load.amperes) => "50 mA",
        ohms_law(q("50 mA"), q("15 ohm")).map(|load| load.volts) => "0.75 V",
        ohms_law(q("50 mA"), q("250 ohm")).map(|load| load.volts) => "12.5 V",
    );
    values!(checks, OPENSTAX.at("module m42346, tungsten filament");
        resistance_at(q("0.350 ohm"), q("20 degC"), q("2850 degC"), q("0.45 pct")) => "4.8 ohm",
    );
    let choice = thinnest_awg(q("25 A"), q("2300 ft"), q("5 V")).map(|choice| choice.gauge);
    checks.push(Check::text(
        "the gauge for 5 V along 2300 ft at 25 A",
        choice,
        "AWG 2/0",
        LESSONS.at("ch. 12, Specific resistance"),
    ));
    checks
}
