//! Worked examples of direct-current circuits.

use crate::check::{Check, Source, Status, list, q, values};
use ohmwright::electrical::coil::{copper_resistance_at, winding_temperature};
use ohmwright::electrical::error::HelperError;
use ohmwright::electrical::network::*;
use ohmwright::electrical::ohm::{Load, loaded_source, ohms_law, source_resistance};
use ohmwright::electrical::pulse::{average_volts, tone_wheel_speed};
use ohmwright::electrical::ratiometric::transfer;
use ohmwright::model::quantity::Quantity;

const LESSONS: Source = Source::seen("Lessons in Electric Circuits, vol. I (DC)");
const OPENSTAX: Source = Source::seen("OpenStax College Physics 2e");
const ORDNANCE: Source = Source::seen("US Army Ordnance subcourse OD0611");
const DOE: Source = Source::seen("DOE-HDBK-1011/1-92, Electrical Science");
const NEETS: Source = Source::seen("NEETS Module 1").known(Status::Computed);
const FAA: Source = Source::seen("FAA AC 43.13-1B CHG 1 (27 Sep 2001)");

type Answer = Result<Quantity, HelperError>;

fn load(one: &str, other: &str) -> Result<Load, HelperError> {
    ohms_law(q(one), q(other))
}
fn volts(one: &str, other: &str) -> Answer {
    load(one, other).map(|load| load.volts)
}
fn amperes(one: &str, other: &str) -> Answer {
    load(one, other).map(|load| load.amperes)
}
fn ohms(one: &str, other: &str) -> Answer {
    load(one, other).map(|load| load.ohms)
}
fn watts(one: &str, other: &str) -> Answer {
    load(one, other).map(|load| load.watts)
}
/// The current of resistances in series, and what one of them drops.
fn string(supply: &str, resistances: &[&str]) -> Answer {
    ohms_law(q(supply), series(list(resistances))?).map(|load| load.amperes)
}
fn share(supply: &str, of: &str, rest: &[&str]) -> Answer {
    divider(q(supply), series(list(rest))?, q(of))
}

fn laws(checks: &mut Vec<Check>) {
    values!(checks, LESSONS.at("ch. 2, Ohm's Law");
        amperes("12 V", "3 ohm") => "4 A",
        ohms("36 V", "4 A") => "9 ohm",
        volts("2 A", "7 ohm") => "14 V",
        amperes("10 V", "5 ohm") => "2 A",
        watts("10 V", "5 ohm") => "20 W",
        amperes("30 V", "5 ohm") => "6 A",
        watts("30 V", "5 ohm") => "180 W",
    );
    values!(checks, OPENSTAX.at("modules m42344, m42714, headlight");
        ohms("12.0 V", "2.50 A") => "4.80 ohm",
        watts("12.0 V", "2.50 A") => "30.0 W",
        amperes("12.0 V", "0.350 ohm") => "34.3 A",
        watts("12.0 V", "0.350 ohm") => "411 W",
        amperes("30.0 W", "12.0 V") => "2.50 A",
        volts("30.0 W", "4.80 ohm") => "12.0 V",
        ohms("30.0 W", "2.50 A") => "4.80 ohm",
    );
    values!(checks, ORDNANCE.at("lesson 1, items 11-13 and key");
        ohms("24 V", "1.8 A") => "13.3 ohm",
        volts("6 ohm", "4 A") => "24 V",
        amperes("120 V", "8 ohm") => "15 A",
    );
}

fn in_series(checks: &mut Vec<Check>) {
    values!(checks, LESSONS.at("ch. 5, Simple series circuits");
        string("9 V", &["3 kohm", "10 kohm", "5 kohm"]) => "0.5 mA",
        share("9 V", "3 kohm", &["10 kohm", "5 kohm"]) => "1.5 V",
        share("9 V", "10 kohm", &["3 kohm", "5 kohm"]) => "5.0 V",
        share("9 V", "5 kohm", &["3 kohm", "10 kohm"]) => "2.5 V",
    );
    values!(checks, LESSONS.at("ch. 6, Voltage divider circuits");
        string("45 V", &["5 kohm", "10 kohm", "7.5 kohm"]) => "2 mA",
        share("45 V", "5 kohm", &["10 kohm", "7.5 kohm"]) => "10 V",
        share("45 V", "10 kohm", &["5 kohm", "7.5 kohm"]) => "20 V",
        share("45 V", "7.5 kohm", &["5 kohm", "10 kohm"]) => "15 V",
        share("180 V", "5 kohm", &["10 kohm", "7.5 kohm"]) => "40 V",
        share("180 V", "10 kohm", &["5 kohm", "7.5 kohm"]) => "80 V",
        share("180 V", "7.5 kohm", &["5 kohm", "10 kohm"]) => "60 V",
        share("1 V", "5 kohm", &["10 kohm", "7.5 kohm"]) => "0.22222 V",
    );
    values!(checks, OPENSTAX.at("module m42356, series");
        series(list(&["1 ohm", "6 ohm", "13 ohm"])) => "20.0 ohm",
        string("12.0 V", &["1 ohm", "6 ohm", "13 ohm"]) => "0.600 A",
        volts("0.6 A", "1 ohm") => "0.600 V",
        volts("0.6 A", "6 ohm") => "3.60 V",
        volts("0.6 A", "13 ohm") => "7.80 V",
        watts("0.6 A", "1 ohm") => "0.360 W",
        watts("0.6 A", "6 ohm") => "2.16 W",
        watts("0.6 A", "13 ohm") => "4.68 W",
        watts("12.0 V", "20 ohm") => "7.20 W",
    );
    values!(checks, DOE.at("ES-02, pp. 27-28");
        series(list(&["50 ohm", "75 ohm", "100 ohm"])) => "225 ohm",
        volts("0.5 A", "225 ohm") => "112.5 V",
        series(list(&["40 ohm", "60 ohm", "100 ohm"])) => "200 ohm",
        string("120 V", &["40 ohm", "60 ohm", "100 ohm"]) => "0.6 A",
    );
    values!(checks, DOE.at("ES-02, p. 28, drops").known(Status::Computed);
        share("120 V", "40 ohm", &["60 ohm", "100 ohm"]) => "24 V",
        share("120 V", "60 ohm", &["40 ohm", "100 ohm"]) => "36 V",
        share("120 V", "100 ohm", &["40 ohm", "60 ohm"]) => "60 V",
    );
    values!(checks, NEETS.at("Q21, p. 3-31");
        volts("6 A", "55 ohm") => "330 V",
        volts("6 A", "25 ohm") => "150 V",
        volts("6 A", "30 ohm") => "180 V",
        watts("6 A", "55 ohm") => "1980 W",
        watts("6 A", "25 ohm") => "900 W",
        watts("6 A", "30 ohm") => "1080 W",
    );
}

fn in_parallel(checks: &mut Vec<Check>) {
    values!(checks, LESSONS.at("ch. 5, Simple parallel circuits");
        amperes("9 V", "10 kohm") => "0.9 mA",
        amperes("9 V", "2 kohm") => "4.5 mA",
        amperes("9 V", "1 kohm") => "9 mA",
    );
    values!(checks, LESSONS.at("ch. 6, Current divider circuits");
        amperes("6 V", "1 kohm") => "6 mA",
        amperes("6 V", "3 kohm") => "2 mA",
        amperes("6 V", "2 kohm") => "3 mA",
        parallel(list(&["1 kohm", "3 kohm", "2 kohm"])) => "545.45 ohm",
        ohms_law(q("6 V"), parallel(list(&["1 kohm", "3 kohm", "2 kohm"])).unwrap()).map(|load| load.amperes) => "11 mA",
    );
    values!(checks, OPENSTAX.at("module m42356, parallel");
        parallel(list(&["1 ohm", "6 ohm", "13 ohm"])) => "0.804 ohm",
        ohms_law(q("12 V"), parallel(list(&["1 ohm", "6 ohm", "13 ohm"])).unwrap()).map(|load| load.amperes) => "14.92 A",
        ohms_law(q("12 V"), parallel(list(&["1 ohm", "6 ohm", "13 ohm"])).unwrap()).map(|load| load.watts) => "179 W",
        amperes("12 V", "1 ohm") => "12.0 A",
        amperes("12 V", "6 ohm") => "2.00 A",
        amperes("12 V", "13 ohm") => "0.92 A",
        watts("12 V", "1 ohm") => "144 W",
        watts("12 V", "6 ohm") => "24.0 W",
        watts("12 V", "13 ohm") => "11.1 W",
    );
}

fn sources_and_meters(checks: &mut Vec<Check>) {
    let battery = |inner: &str, load: &str| loaded_source(q("12.0 V"), q(inner), q(load));
    values!(checks, OPENSTAX.at("module m42357, terminal voltage");
        battery("0.100 ohm", "10.0 ohm").map(|load| load.amperes) => "1.188 A",
        battery("0.100 ohm", "10.0 ohm").map(|load| load.volts) => "11.9 V",
        battery("0.100 ohm", "0.500 ohm").map(|load| load.amperes) => "20.0 A",
        battery("0.100 ohm", "0.500 ohm").map(|load| load.volts) => "10.0 V",
        battery("0.100 ohm", "0.500 ohm").map(|load| load.watts) => "200 W",
        battery("0.500 ohm", "0.500 ohm").map(|load| load.amperes) => "12.0 A",
        battery("0.500 ohm", "0.500 ohm").map(|load| load.volts) => "6.00 V",
        battery("0.500 ohm", "0.500 ohm").map(|load| load.watts) => "72.0 W",
        source_resistance(q("12.0 V"), q("10.0 V"), q("20.0 A")) => "0.100 ohm",
        source_resistance(q("12.0 V"), q("6.00 V"), q("0.500 ohm")) => "0.500 ohm",
    );
    values!(checks, LESSONS.at("ch. 8, Voltmeter impact on measured circuit");
        parallel(list(&["250 Mohm", "10 Mohm"])) => "9.615 Mohm",
        loaded_divider(q("24 V"), q("250 Mohm"), q("250 Mohm"), q("10 Mohm")) => "0.8889 V",
        meter_shows(q("12 V"), q("125 Mohm"), q("10 Mohm")) => "0.8889 V",
        unloaded_volts(meter_shows(q("12 V"), q("125 Mohm"), q("10 Mohm")).unwrap(), q("125 Mohm"), q("10 Mohm")) => "12 V",
        loaded_divider(q("24 V"), q("250 Mohm"), q("250 Mohm"), q("10 Mohm")).map(|v| v.with_si(24.0 - v.si())) => "23.1111 V",
    );
    values!(checks, LESSONS.at("ch. 8, Ammeter design");
        divider(q("12 V"), q("15 kohm"), q("1 ohm")) => "0.7999 mV",
        ammeter_shows(q("0.8 mA"), q("15 kohm"), q("1 ohm")) => "0.7999 mA",
    );
    values!(checks, OPENSTAX.at("module m42360, voltmeter and ammeter problems");
        loaded_source(q("1.585 V"), q("0.100 ohm"), q("1.00 kohm")).map(|load| load.amperes) => "1.58 mA",
        meter_shows(q("1.585 V"), q("0.100 ohm"), q("1.00 kohm")) => "1.5848 V",
        meter_shows(q("1 V"), q("0.100 ohm"), q("1.00 kohm")) => "0.99990 V",
        series(list(&["10.00 ohm", "0.0200 ohm"])) => "10.02 ohm",
        ammeter_shows(q("1 A"), q("10.00 ohm"), q("0.0200 ohm")).map(|a| Quantity::ratio(1.0 - a.si())) => "0.20 pct",
    );
    values!(checks, OPENSTAX.at("module m42362, null measurements");
        balanced_bridge(q("1000 ohm"), q("625 ohm"), q("2500 ohm")) => "1.56 kohm",
    );
    let unbalanced = || bridge(q("10 V"), q("12 ohm"), q("18 ohm"), q("18 ohm"), q("12 ohm"), q("6 ohm"));
    values!(checks, LESSONS.at("ch. 10, Δ-Y and Y-Δ conversions");
        unbalanced().map(|b| b.left.with_si(10.0 - b.left.si())) => "4.706 V",
        unbalanced().map(|b| b.left) => "5.294 V",
        unbalanced().map(|b| b.difference) => "0.5882 V",
        unbalanced().map(|b| b.right.with_si(10.0 - b.right.si())) => "5.294 V",
        unbalanced().map(|b| b.right) => "4.706 V",
    );
}

fn scales(checks: &mut Vec<Check>) {
    let milliamperes = |percent: &str| transfer(q(percent), q("0 pct"), q("4 mA"), q("100 pct"), q("20 mA"));
    let one_to_five = |percent: &str| transfer(q(percent), q("0 pct"), q("1 V"), q("100 pct"), q("5 V"));
    let percent = |current: &str| transfer(q(current), q("4 mA"), q("0 pct"), q("20 mA"), q("100 pct"));
    values!(checks, LESSONS.at("ch. 9, Current signal systems");
        milliamperes("0 pct") => "4.0 mA",
        milliamperes("10 pct") => "5.6 mA",
        milliamperes("25 pct") => "8.0 mA",
        milliamperes("50 pct") => "12.0 mA",
        milliamperes("70 pct") => "15.2 mA",
        one_to_five("0 pct") => "1.0 V",
        one_to_five("10 pct") => "1.4 V",
        one_to_five("25 pct") => "2.0 V",
        one_to_five("50 pct") => "3.0 V",
        one_to_five("70 pct") => "3.8 V",
        percent("5.6 mA") => "10 pct",
        percent("8.0 mA") => "25 pct",
        percent("15.2 mA") => "70 pct",
    );
    // The rule is printed for lengths of a hot conductor; resistance takes the same factor: 254.5 = 234.5 + 20.
    values!(checks, FAA.at("¶11-66, p. 11-22, at 234.5 °C and 20 °C").known(Status::Computed);
        copper_resistance_at(q("254.5 ohm"), q("20 degC"), q("234.5 degC")) => "469.0 ohm",
        copper_resistance_at(q("254.5 ohm"), q("20 degC"), q("0 degC")) => "234.5 ohm",
        winding_temperature(q("254.5 ohm"), q("20 degC"), q("334.5 ohm")) => "100.0 degC",
    );
    let practice = Source { title: "the trade's rules of thumb", place: "", status: Status::CommonPractice };
    values!(checks, practice.at("60 teeth: hertz read as turns per minute; half duty reads half");
        tone_wheel_speed(q("750 Hz"), 60) => "750 rpm",
        average_volts(q("50 pct"), q("12 V"), q("0 V")) => "6 V",
    );
}

pub fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    laws(&mut checks);
    in_series(&mut checks);
    in_parallel(&mut checks);
    sources_and_meters(&mut checks);
    scales(&mut checks);
    checks
}
