//! Sensor tables and worked examples.

use crate::check::{Check, Source, Status, figures, q, values};
use ohmwright::electrical::network::{pull_up_sensor, pull_up_volts};
use ohmwright::electrical::ratiometric::{percent_of_reference, signal_allowance, signal_band, volts_at_percent};
use ohmwright::electrical::rtd::*;
use ohmwright::electrical::sweep::{best_fit, best_fit_trust};
use ohmwright::electrical::thermistor::*;
use ohmwright::electrical::thermocouple::*;
use ohmwright::model::quantity::Quantity;

const PLATINUM_CURVE: Source =
    Source::seen("IEC 60751:2008, computed with the Python package rtd-sensor 0.8.0").known(Status::Computed);
const TYPE_K_README: Source = Source::seen("the Python package thermocouple-its90 1.0.2 (ITS-90, NIST SRD 60)");
const TYPE_K_CURVE: Source = TYPE_K_README.known(Status::Computed);
const STEINHART_HART: Source =
    Source::seen("Steinhart-Hart equation, computed with the Python package thermistor-utils 0.0.4")
        .known(Status::Computed);
const BETA: Source =
    Source::seen("beta equation, computed with the Python package thermistor-utils 0.0.4").known(Status::Computed);
const FOUR_LIMITS: Source = Source::seen("NAMUR NE 43").known(Status::FromMemory);
const QUARTET: Source = Source::seen("Anscombe, Graphs in Statistical Analysis, The American Statistician 27 (1973)")
    .known(Status::FromMemory);
const THROTTLE: Source = Source::seen("US Army TM 9-2320-280-20-2");

/// °C and ohms of a 100 Ω platinum thermometer.
const PLATINUM: &[(f64, &str)] = &[
    (-200.0, "18.52"),
    (-100.0, "60.26"),
    (-40.0, "84.27"),
    (0.0, "100.00"),
    (20.0, "107.79"),
    (50.0, "119.40"),
    (100.0, "138.51"),
    (150.0, "157.33"),
    (200.0, "175.86"),
    (300.0, "212.05"),
    (400.0, "247.09"),
    (600.0, "313.71"),
    (850.0, "390.48"),
    (-150.0, "39.72"),
    (-50.0, "80.31"),
    (-10.0, "96.09"),
    (10.0, "103.90"),
    (30.0, "111.67"),
    (40.0, "115.54"),
    (60.0, "123.24"),
    (70.0, "127.08"),
    (80.0, "130.90"),
    (90.0, "134.71"),
    (500.0, "280.98"),
    (700.0, "345.28"),
    (800.0, "375.70"),
];

/// °C and millivolts against 0 °C, as the package prints them: in its readme, or as ends of its ranges.
const TYPE_K: &[(f64, &str)] =
    &[(-200.0, "-5.891"), (100.0, "4.096"), (300.0, "12.209"), (500.0, "20.644"), (1372.0, "54.886")];
/// The same, computed with it.
const TYPE_K_COMPUTED: &[(f64, &str)] = &[
    (-150.0, "-4.913"),
    (-100.0, "-3.554"),
    (-50.0, "-1.889"),
    (-40.0, "-1.527"),
    (10.0, "0.397"),
    (20.0, "0.798"),
    (25.0, "1.000"),
    (30.0, "1.203"),
    (40.0, "1.612"),
    (50.0, "2.023"),
    (60.0, "2.436"),
    (70.0, "2.851"),
    (80.0, "3.267"),
    (90.0, "3.682"),
    (150.0, "6.138"),
    (200.0, "8.138"),
    (250.0, "10.153"),
    (400.0, "16.397"),
    (600.0, "24.905"),
    (700.0, "29.129"),
    (800.0, "33.275"),
    (900.0, "37.326"),
    (1000.0, "41.276"),
    (1100.0, "45.119"),
    (1200.0, "48.838"),
];

fn platinum(checks: &mut Vec<Check>) {
    for (celsius, ohms) in PLATINUM {
        let got = rtd_resistance(Quantity::celsius(*celsius), q("100 ohm")).map(|ohms| ohms.si());
        let source = PLATINUM_CURVE.at("R(t) of 100 Ω");
        checks.push(Check::number(&format!("rtd_resistance({celsius} °C)"), got, ohms, source));
    }
    figures!(checks, PLATINUM_CURVE.at("tolerances by class");
        rtd_tolerance(q("200 degC"), "B".into()) => "1.3 K",
        rtd_tolerance(q("100 degC"), "A".into()) => "0.35 K",
        rtd_tolerance(q("0 degC"), "AA".into()) => "0.1 K",
        rtd_tolerance(q("0 degC"), "A".into()) => "0.15 K",
        rtd_tolerance(q("0 degC"), "B".into()) => "0.30 K",
        rtd_tolerance(q("0 degC"), "C".into()) => "0.6 K",
    );
    values!(checks, PLATINUM_CURVE.at("tolerances by class, in ohms");
        rtd_resistance_tolerance(q("200 degC"), q("100 ohm"), "B".into()) => "0.48 ohm",
        rtd_resistance_tolerance(q("100 degC"), q("100 ohm"), "A".into()) => "0.13 ohm",
    );
    values!(checks, PLATINUM_CURVE.at("pt100");
        rtd_temperature(q("110.0 ohm"), q("100 ohm")) => "25.684 degC",
        // A widely copied table has 35.34 Ω here; the curve gives this.
        rtd_resistance(q("-160 degC"), q("100 ohm")) => "35.54 ohm",
    );
}

fn type_k(checks: &mut Vec<Check>) {
    for (rows, source) in [(TYPE_K, TYPE_K_README), (TYPE_K_COMPUTED, TYPE_K_CURVE)] {
        for (celsius, millivolts) in rows {
            let source = source.at("E(t), reference 0 °C");
            let got = thermocouple_volts(Quantity::celsius(*celsius), q("0 degC")).map(|volts| volts.si() * 1e3);
            checks.push(Check::number(&format!("thermocouple_volts({celsius} °C)"), got, millivolts, source));
        }
    }
    values!(checks, TYPE_K_README.at("its readme, cold junction and table value");
        thermocouple_temperature(q("4.096 mV"), q("25 degC")) => "124.3 degC",
        thermocouple_temperature(q("12.209 mV"), q("0 degC")) => "300.0 degC",
    );
}

fn thermistors(checks: &mut Vec<Check>) {
    let fit = || steinhart_hart_fit(q("5 degC"), q("25 kohm"), q("25 degC"), q("10 kohm"), q("45 degC"), q("4 kohm"));
    for (name, got, want) in [
        ("a", fit().map(|constants| constants.a), "2.108508173e-3"),
        ("b", fit().map(|constants| constants.b), "7.979204727e-5"),
        ("c", fit().map(|constants| constants.c), "6.535076315e-7"),
    ] {
        checks.push(Check::number(
            &format!("steinhart_hart_fit, {name}"),
            got,
            want,
            STEINHART_HART.at("through 25, 10 and 4 kΩ at 5, 25 and 45 °C"),
        ));
    }
    // The constants are in a data sheet of a sensor module, from a public copy.
    let (a, b, c) = (1.129148e-3, 2.34125e-4, 8.76741e-8);
    let celsius = |ohms: &str| steinhart_hart_temperature(q(ohms), a, b, c);
    values!(checks, STEINHART_HART.at("A 1.129148e-3, B 2.34125e-4, C 8.76741e-8");
        celsius("10 kohm") => "25.000 degC",
        celsius("32650 ohm") => "0.000 degC",
        celsius("3605 ohm") => "49.97 degC",
        celsius("680 ohm") => "99.92 degC",
        steinhart_hart_resistance(q("20 degC"), a, b, c) => "12.493 kohm",
        steinhart_hart_resistance(q("0 degC"), a, b, c) => "32.65 kohm",
        steinhart_hart_resistance(q("-40 degC"), a, b, c) => "336.1 kohm",
        steinhart_hart_resistance(q("120 degC"), a, b, c) => "388.3 ohm",
    );
    let seen = |celsius: f64| {
        pull_up_volts(q("5 V"), q("10 kohm"), steinhart_hart_resistance(Quantity::celsius(celsius), a, b, c)?)
    };
    values!(checks, STEINHART_HART.at("the same, on a pull-up of 10 kΩ to 5 V");
        seen(-40.0) => "4.8555 V",
        seen(-20.0) => "4.5327 V",
        seen(0.0) => "3.8277 V",
        seen(20.0) => "2.7771 V",
        seen(25.0) => "2.5000 V",
        seen(40.0) => "1.7373 V",
        seen(60.0) => "0.9959 V",
        seen(80.0) => "0.5579 V",
        seen(100.0) => "0.3177 V",
        seen(120.0) => "0.1869 V",
        pull_up_sensor(q("5 V"), q("10 kohm"), q("2.5 V")) => "10.000 kohm",
    );
    values!(checks, STEINHART_HART.at("A 1.40e-3, B 2.37e-4, C 9.90e-8");
        steinhart_hart_temperature(q("3000 ohm"), 1.40e-3, 2.37e-4, 9.90e-8) => "25.51 degC",
    );
    let beta =
        |beta: &str, celsius: f64| beta_resistance(Quantity::celsius(celsius), q("10 kohm"), q("25 degC"), q(beta));
    values!(checks, BETA.at("beta 3380 K and 3977 K, 10 kΩ at 25 °C");
        beta("3380 K", 0.0) => "28223.7 ohm",
        beta("3380 K", 50.0) => "4160.1 ohm",
        beta("3380 K", 80.0) => "1710.9 ohm",
        beta("3380 K", 100.0) => "1024.3 ohm",
        beta("3977 K", 0.0) => "33.900 kohm",
        beta("3977 K", 50.0) => "3563.1 ohm",
        beta("3977 K", 100.0) => "684.9 ohm",
    );
}

/// The first of four sets of eleven points, with the figures that are printed beside them.
fn quartet(checks: &mut Vec<Check>) {
    let x = [4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0];
    let y = [4.26, 5.68, 7.24, 4.82, 6.95, 8.81, 8.04, 8.33, 10.84, 7.58, 9.96];
    let (places, readings) = (x.map(Quantity::seconds).to_vec(), y.map(Quantity::volts).to_vec());
    let line = best_fit(places.clone(), readings.clone()).unwrap();
    let trust = best_fit_trust(places, readings).unwrap();
    for (what, got, want) in [
        ("start", line.start, "3.0"),
        ("slope", line.slope, "0.5"),
        ("slope uncertainty", trust.slope_uncertainty, "0.118"),
        ("r squared", trust.r.map_or(0.0, |r| r * r), "0.667"),
    ] {
        checks.push(Check::number(&format!("best_fit, first set, {what}"), Ok(got), want, QUARTET.at("first set")));
    }
}

pub fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    platinum(&mut checks);
    type_k(&mut checks);
    thermistors(&mut checks);
    values!(checks, THROTTLE.at("¶4-45c, p. 4-72");
        volts_at_percent(q("33 pct"), q("5.00 V")) => "1.65 V",
        percent_of_reference(q("1.65 V"), q("5.00 V")) => "33 pct",
        signal_allowance(q("1 pct"), q("0.02 V"), q("1.65 V")) => "0.02 V",
    );
    for (signal, want) in [
        ("3.5 mA", "fault low"),
        ("3.7 mA", "below range"),
        ("3.8 mA", "in range"),
        ("12 mA", "in range"),
        ("20.5 mA", "in range"),
        ("20.8 mA", "above range"),
        ("21 mA", "above range"),
        ("21.5 mA", "fault high"),
    ] {
        let got = signal_band(q(signal), q("3.6 mA"), q("3.8 mA"), q("20.5 mA"), q("21 mA"));
        checks.push(Check::text(&format!("signal_band({signal})"), got, want, FOUR_LIMITS.at("4-20 mA")));
    }
    quartet(&mut checks);
    checks
}
