//! Random inputs: the helpers against reference libraries.
//!
//! Unless said otherwise both sides compute in double precision by the same law, so that they may differ by the rounding of
//! a handful of operations: 1e-12 of the value.

use crate::oracle::{Rows, compare};
use ohmwright::electrical::door::Gauge;
use ohmwright::electrical::{
    accuracy, battery, code, network, ohm, pulse, ratiometric, rtd, sweep, thermistor, thermocouple, uncertainty, wire,
};
use ohmwright::model::dimension::Dimension;
use ohmwright::model::quantity::Quantity;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

const ROUNDING: f64 = 1e-12;

/// `count` rows; a seed of its own for every area, the same in every run.
fn rows(seed: u64, count: usize, mut row: impl FnMut(&mut StdRng) -> Vec<f64>) -> Rows {
    let mut random = StdRng::seed_from_u64(seed);
    (0..count).map(|_| row(&mut random)).collect()
}

/// Anywhere from one to the other.
fn flat(random: &mut StdRng, low: f64, high: f64) -> f64 {
    random.random_range(low..high)
}

/// From one to the other, each decade alike.
fn spread(random: &mut StdRng, low: f64, high: f64) -> f64 {
    random.random_range(low.ln()..high.ln()).exp()
}

fn v(si: f64) -> Quantity {
    Quantity::volts(si)
}
fn a(si: f64) -> Quantity {
    Quantity::amperes(si)
}
fn r(si: f64) -> Quantity {
    Quantity::ohms(si)
}
fn t(celsius: f64) -> Quantity {
    Quantity::celsius(celsius)
}
fn of(si: f64, dimension: Dimension) -> Quantity {
    Quantity::new(si, dimension)
}

#[test]
fn units_and_ohms_law_agree_with_a_units_library() {
    let drops = rows(1, 2000, |n| vec![spread(n, 1e-3, 300.0), spread(n, 0.05, 100.0), spread(n, 0.1, 500.0)]);
    compare("pint_circuits", "wire_drop", &drops, ROUNDING, 0.0, |row| {
        let wire = of(row[1] / 304.8, Dimension::RESISTANCE_PER_LENGTH);
        vec![wire::wire_drop(a(row[0]), wire, of(row[2] * 0.3048, Dimension::LENGTH)).unwrap().si()]
    });
    let loads = rows(2, 2000, |n| vec![spread(n, 1e-3, 100.0), spread(n, 1e-3, 1e7)]);
    compare("pint_circuits", "load", &loads, ROUNDING, 0.0, |row| {
        let load = ohm::ohms_law(v(row[0]), r(row[1])).unwrap();
        // Every other pair must lead to the same load.
        for (one, other) in [
            (load.volts, load.amperes),
            (load.watts, load.volts),
            (load.amperes, load.ohms),
            (load.amperes, load.watts),
            (load.watts, load.ohms),
        ] {
            let again = ohm::ohms_law(one, other).unwrap();
            for (field, first) in [
                (again.volts, load.volts),
                (again.amperes, load.amperes),
                (again.ohms, load.ohms),
                (again.watts, load.watts),
            ] {
                assert!((field.si() / first.si() - 1.0).abs() < ROUNDING, "{one} and {other}");
            }
        }
        vec![load.amperes.si(), load.watts.si()]
    });
    let hours = rows(3, 1000, |n| vec![flat(n, 20.0, 200.0), flat(n, 0.05, 0.9), spread(n, 1.0, 900.0)]);
    compare("pint_circuits", "hours", &hours, 1e-11, 0.0, |row| {
        // Two charges whose difference is the share: their subtraction costs a digit more.
        let capacity = of(row[0] * 3600.0, Dimension::CHARGE);
        let (now, left) = (Quantity::ratio(row[1] + 0.05), Quantity::ratio(0.05));
        vec![battery::hours_to_flat(capacity, now, left, a(row[2] * 1e-3)).unwrap().si()]
    });
    let wheels = rows(4, 1000, |n| vec![spread(n, 1.0, 20e3), flat(n, 1.0, 200.0).floor()]);
    compare("pint_circuits", "tone_wheel", &wheels, ROUNDING, 0.0, |row| {
        vec![
            pulse::tone_wheel_speed(of(row[0], Dimension::FREQUENCY), row[1] as i64).unwrap().si() * 30.0
                / std::f64::consts::PI,
        ]
    });
    let roads = rows(5, 1000, |n| vec![spread(n, 1.0, 5000.0), flat(n, 1.0, 4.0)]);
    compare("pint_circuits", "road_speed", &roads, ROUNDING, 0.0, |row| {
        let rotation = of(row[0] * std::f64::consts::PI / 30.0, Dimension::ROTATION);
        vec![pulse::road_speed(rotation, of(row[1], Dimension::LENGTH)).unwrap().si() * 3.6]
    });
    let gauges = rows(6, 1000, |n| vec![f64::from(n.random_range(-3_i32..=56))]);
    compare("pint_circuits", "gauge", &gauges, ROUNDING, 0.0, |row| {
        let gauge = || Gauge::Number(row[0] as i64);
        vec![wire::awg_diameter(gauge()).unwrap().si(), wire::awg_area(gauge()).unwrap().si() * 1e6]
    });
}

#[test]
fn uncertainties_agree_with_two_uncertainty_libraries() {
    let pairs = rows(10, 2000, |n| {
        let (one, other) = (spread(n, 1e-3, 1e3), spread(n, 1e-3, 1e3));
        vec![one, one * spread(n, 1e-5, 0.1), other, other * spread(n, 1e-5, 0.1)]
    });
    // That library finds some derivatives by arithmetic of its own; nine digits are left.
    compare("uncertainties_library", "uncertainties", &pairs, 1e-9, 0.0, |row| {
        vec![
            uncertainty::ratio_uncertainty(v(row[0]), v(row[1]), a(row[2]), a(row[3])).unwrap().si(),
            uncertainty::product_uncertainty(v(row[0]), v(row[1]), a(row[2]), a(row[3])).unwrap().si(),
            uncertainty::combined_uncertainty(vec![v(row[1]), v(row[3])]).unwrap().si(),
        ]
    });
    let correlated = rows(11, 1000, |n| {
        let (one, other) = (spread(n, 1e-2, 1e2), spread(n, 1e-2, 1e2));
        vec![one, one * spread(n, 1e-4, 0.1), other, other * spread(n, 1e-4, 0.1), flat(n, -0.99, 0.99)]
    });
    // Near full correlation two large terms cancel on both sides: six digits are lost at 0.99 and unlike sizes.
    compare("gtc_library", "correlated", &correlated, 1e-9, 0.0, |row| {
        vec![
            uncertainty::correlated_ratio_uncertainty(
                v(row[0]),
                v(row[1]),
                a(row[2]),
                a(row[3]),
                Quantity::ratio(row[4]),
            )
            .unwrap()
            .si(),
        ]
    });
    let halves = rows(12, 1000, |n| vec![spread(n, 1e-6, 10.0)]);
    compare("gtc_library", "rectangular", &halves, ROUNDING, 0.0, |row| {
        vec![uncertainty::standard_uncertainty(v(row[0])).unwrap().si()]
    });
}

#[test]
fn thermocouples_agree_with_two_thermocouple_libraries() {
    let junctions = rows(20, 2000, |n| vec![flat(n, -270.0, 1372.0), flat(n, -20.0, 80.0)]);
    // Volts; the polynomials of up to ten terms lose a few digits far from zero. 1e-12 V is 3e-8 K.
    compare("thermocouples_libraries", "thermocouple_volts", &junctions, 0.0, 1e-12, |row| {
        let volts = thermocouple::thermocouple_volts(t(row[0]), t(row[1])).unwrap().si();
        vec![volts, volts]
    });
    // Both invert the reference function itself; below -200 °C its slope is so small that 1e-7 K is what is left.
    let volts = rows(21, 2000, |n| vec![flat(n, -5.8, 54.0), flat(n, 0.0, 20.0)]);
    compare("thermocouples_libraries", "thermocouple_temperature", &volts, 0.0, 1e-7, |row| {
        vec![thermocouple::thermocouple_temperature(v(row[0] * 1e-3), t(row[1])).unwrap().si()]
    });
}

#[test]
fn platinum_agrees_with_a_thermometer_library() {
    let celsius = rows(30, 2000, |n| vec![flat(n, -200.0, 850.0)]);
    compare("rtd_library", "rtd_resistance", &celsius, ROUNDING, 0.0, |row| {
        vec![
            rtd::rtd_resistance(t(row[0]), r(100.0)).unwrap().si(),
            rtd::rtd_resistance(t(row[0]), r(1000.0)).unwrap().si(),
        ]
    });
    let ohms = rows(31, 2000, |n| vec![flat(n, 18.6, 390.4)]);
    // Below 0 °C that library stops when it is within its own bound.
    compare("rtd_library", "rtd_temperature", &ohms, 0.0, 1e-6, |row| {
        vec![rtd::rtd_temperature(r(row[0]), r(100.0)).unwrap().si()]
    });
    // Tolerance in ohms over tolerance in kelvin is the slope of the curve.
    let slopes = rows(32, 1000, |n| vec![flat(n, -190.0, 590.0)]);
    compare("rtd_library", "rtd_slope", &slopes, 1e-11, 0.0, |row| {
        let ohms = rtd::rtd_resistance_tolerance(t(row[0]), r(100.0), "B".into()).unwrap().si();
        vec![ohms / rtd::rtd_tolerance(t(row[0]), "B".into()).unwrap().si()]
    });
}

#[test]
fn thermistors_agree_with_a_thermistor_library() {
    let curves = rows(40, 2000, |n| {
        vec![flat(n, 2500.0, 4800.0), spread(n, 100.0, 1e6), flat(n, 0.0, 50.0), flat(n, -55.0, 200.0)]
    });
    compare("thermistor_library", "beta", &curves, 1e-11, 1e-9, |row| {
        let ohms =
            thermistor::beta_resistance(t(row[3]), r(row[1]), t(row[2]), of(row[0], Dimension::TEMPERATURE_DIFFERENCE))
                .unwrap();
        let back =
            thermistor::beta_temperature(ohms, r(row[1]), t(row[2]), of(row[0], Dimension::TEMPERATURE_DIFFERENCE))
                .unwrap();
        let beta = thermistor::beta_from_points(t(row[2]), r(row[1]), t(row[3]), ohms).unwrap().si();
        assert!((beta / row[0] - 1.0).abs() < 1e-6, "beta of {row:?}");
        vec![ohms.si(), back.si()]
    });
    let constants = |n: &mut StdRng| vec![flat(n, 0.9e-3, 1.5e-3), flat(n, 1.8e-4, 2.6e-4), flat(n, 0.5e-7, 2e-7)];
    let resistances = rows(41, 2000, |n| [constants(n), vec![spread(n, 300.0, 1e5)]].concat());
    compare("thermistor_library", "steinhart_hart", &resistances, 0.0, 1e-9, |row| {
        vec![thermistor::steinhart_hart_temperature(r(row[3]), row[0], row[1], row[2]).unwrap().si()]
    });
    let points = rows(42, 1000, |n| {
        let beta = flat(n, 3000.0, 4500.0);
        let ohms = |celsius: f64, bend: f64| 1e4 * (beta * (1.0 / (celsius + 273.15) - 1.0 / 298.15)).exp() * bend;
        let (cold, hot) = (flat(n, -30.0, 5.0), flat(n, 60.0, 120.0));
        vec![cold, ohms(cold, flat(n, 0.9, 1.0)), 25.0, ohms(25.0, 1.0), hot, ohms(hot, flat(n, 0.9, 1.0))]
    });
    // The constants come out of differences of nearly equal numbers: relative to the curve, eight digits.
    compare("thermistor_library", "steinhart_hart_fit", &points, 1e-8, 1e-15, |row| {
        let fit =
            thermistor::steinhart_hart_fit(t(row[0]), r(row[1]), t(row[2]), r(row[3]), t(row[4]), r(row[5])).unwrap();
        vec![fit.a, fit.b, fit.c]
    });
    let temperatures = rows(43, 1000, |n| [vec![flat(n, -50.0, 200.0)], constants(n)].concat());
    // A root finder on the other side, to 1e-14 of ln Ω.
    compare("scipy_library", "steinhart_hart_resistance", &temperatures, 1e-10, 0.0, |row| {
        vec![thermistor::steinhart_hart_resistance(t(row[0]), row[1], row[2], row[3]).unwrap().si()]
    });
}

#[test]
fn networks_agree_with_a_solver_of_linear_equations() {
    let bridges = rows(50, 2000, |n| {
        let mut row = vec![flat(n, 1.0, 30.0)];
        row.extend((0..5).map(|_| spread(n, 1.0, 1e5)));
        row
    });
    // A solver with pivots, on numbers that differ by five decades: three digits less.
    compare("scipy_library", "bridge", &bridges, 1e-9, 1e-12, |row| {
        let bridge = network::bridge(v(row[0]), r(row[1]), r(row[2]), r(row[3]), r(row[4]), r(row[5])).unwrap();
        vec![bridge.left.si(), bridge.right.si()]
    });
    let dividers =
        rows(51, 2000, |n| vec![flat(n, 1.0, 30.0), spread(n, 1.0, 1e6), spread(n, 1.0, 1e6), spread(n, 10.0, 1e7)]);
    compare("scipy_library", "loaded_divider", &dividers, 1e-9, 0.0, |row| {
        let loaded = network::loaded_divider(v(row[0]), r(row[1]), r(row[2]), r(row[3])).unwrap().si();
        // The same point by its open volts and source resistance, there and back.
        let open = network::divider(v(row[0]), r(row[1]), r(row[2])).unwrap();
        let source = network::parallel(vec![r(row[1]), r(row[2])]).unwrap();
        let shown = network::meter_shows(open, source, r(row[3])).unwrap();
        assert!((shown.si() / loaded - 1.0).abs() < 1e-11);
        let again = network::unloaded_volts(shown, source, r(row[3])).unwrap();
        assert!((again.si() / open.si() - 1.0).abs() < ROUNDING);
        vec![loaded]
    });
    let pulses = rows(52, 1000, |n| vec![flat(n, 0.01, 0.99), flat(n, 5.0, 30.0), flat(n, 0.0, 2.0)]);
    // The other side integrates, to 1.5e-8 by its own bound; with the edge given it is exact but for rounding.
    compare("scipy_library", "effective", &pulses, 1e-9, 0.0, |row| {
        let duty = Quantity::ratio(row[0]);
        let average = pulse::average_volts(duty, v(row[1]), v(row[2])).unwrap();
        assert!((pulse::duty_from_average(average, v(row[1]), v(row[2])).unwrap().si() - row[0]).abs() < 1e-12);
        vec![pulse::effective_volts(duty, v(row[1]), v(row[2])).unwrap().si(), average.si()]
    });
}

#[test]
fn probabilities_agree_with_a_scientific_library() {
    let readings = rows(60, 3000, |n| {
        let (low, width) = (flat(n, -10.0, 10.0), spread(n, 0.01, 10.0));
        vec![low + flat(n, -1.0, 2.0) * width, low, low + width, width * spread(n, 0.01, 2.0)]
    });
    // Relative where the probability is tiny, too: both take the nearer tail.
    compare("scipy_library", "normal", &readings, 1e-10, 1e-15, |row| {
        vec![uncertainty::probability_in_limits(v(row[0]), v(row[1]), v(row[2]), v(row[3])).unwrap().si()]
    });
    // Ends of the interval are differences of numbers up to 30: 1e-13 over the half width.
    compare("scipy_library", "rectangular_probability", &readings, 0.0, 1e-10, |row| {
        let probability =
            uncertainty::rectangular_probability(v(row[0]), v(row[1]), v(row[2]), v(row[3])).unwrap().si();
        let guarded = accuracy::guard_band(v(row[0]), v(row[1]), v(row[2]), v(row[3])).unwrap();
        // What is surely in has every possible value inside, what is surely out none.
        match guarded.outcome {
            accuracy::Outcome::SurelyIn => assert!(probability > 1.0 - 1e-9, "{row:?}"),
            accuracy::Outcome::SurelyOut => assert!(probability < 1e-9, "{row:?}"),
            accuracy::Outcome::InUnsure | accuracy::Outcome::OutUnsure => {}
        }
        vec![probability]
    });
}

/// Rising places and a reading at each.
fn track(n: &mut StdRng, points: usize) -> (Vec<f64>, Vec<f64>) {
    let mut at = 0.0;
    let places: Vec<f64> = (0..points)
        .map(|_| {
            at += flat(n, 0.5, 2.0);
            at
        })
        .collect();
    let readings = places.iter().map(|place| 0.5 + 0.1 * place + flat(n, -0.2, 0.2)).collect();
    (places, readings)
}

fn seconds(places: &[f64]) -> Vec<Quantity> {
    places.iter().copied().map(Quantity::seconds).collect()
}
fn volts(readings: &[f64]) -> Vec<Quantity> {
    readings.iter().copied().map(Quantity::volts).collect()
}

#[test]
fn lines_and_tables_agree_with_a_scientific_library() {
    let fits = rows(70, 1000, |n| {
        let (places, readings) = track(n, 12);
        [places, readings].concat()
    });
    compare("scipy_library", "fit", &fits, 1e-9, 1e-12, |row| {
        let (places, readings) = row.split_at(row.len() / 2);
        let line = sweep::best_fit(seconds(places), volts(readings)).unwrap();
        // The sweep's own linearity is that distance over its span, while no reading is a dropout.
        let whole = sweep::analyse_sweep(seconds(places), volts(readings), v(0.0), v(100.0)).unwrap();
        let share = line.furthest.si().abs() / (readings[11] - readings[0]).abs();
        assert!((whole.linearity.si() - share).abs() < 1e-9 * share.max(1.0));
        vec![line.start, line.slope, line.furthest.si().abs()]
    });
    compare("scipy_library", "fit_trust", &fits, 1e-9, 1e-12, |row| {
        let (places, readings) = row.split_at(row.len() / 2);
        let trust = sweep::best_fit_trust(seconds(places), volts(readings)).unwrap();
        vec![trust.r.unwrap(), trust.start_uncertainty, trust.slope_uncertainty, trust.scatter.si()]
    });
    let tables = rows(71, 1500, |n| {
        let (places, readings) = track(n, 8);
        let value = flat(n, places[0], places[7]);
        [vec![value], places, readings].concat()
    });
    compare("scipy_library", "table", &tables, 1e-11, 1e-13, |row| {
        let (places, readings) = row[1..].split_at(8);
        let straight =
            thermistor::interpolate(Quantity::seconds(row[0]), seconds(places), volts(readings)).unwrap().si();
        // Two points of the table are a straight line, which `transfer` draws as well.
        let left = places.windows(2).position(|pair| row[0] <= pair[1]).unwrap();
        let by_points = ratiometric::transfer(
            Quantity::seconds(row[0]),
            Quantity::seconds(places[left]),
            v(readings[left]),
            Quantity::seconds(places[left + 1]),
            v(readings[left + 1]),
        );
        assert!((by_points.unwrap().si() - straight).abs() < 1e-12);
        vec![straight]
    });
    let ways = rows(72, 1000, |n| {
        let (up, read) = track(n, 9);
        let (back, read_back) = track(n, 9);
        [up, read, back, read_back].concat()
    });
    compare("scipy_library", "hysteresis", &ways, 1e-9, 1e-12, |row| {
        let part = |index: usize| &row[index * 9..(index + 1) * 9];
        let (mut back, mut read_back) = (seconds(part(2)), volts(part(3)));
        // On the way back the places run down.
        back.reverse();
        read_back.reverse();
        let found = sweep::sweep_hysteresis(seconds(part(0)), volts(part(1)), back, read_back).unwrap();
        vec![found.gap.si().abs()]
    });
}

#[test]
fn four_byte_codes_agree_with_a_bus_library() {
    let words = rows(80, 3000, |n| vec![f64::from(n.random_range(0_u32..0x8000_0000))]);
    compare("j1939_library", "fault_code", &words, 0.0, 0.0, |row| {
        let word = row[0] as i64;
        let code = code::fault_code(word & 0xFF, word >> 8 & 0xFF, word >> 16 & 0xFF, word >> 24).unwrap();
        vec![code.spn.unwrap() as f64, code.fmi as f64, code.occurrences.unwrap_or(127) as f64]
    });
    let parts = rows(81, 3000, |n| {
        vec![
            f64::from(n.random_range(0_u32..524_288)),
            f64::from(n.random_range(0_u32..32)),
            f64::from(n.random_range(0_u32..128)),
        ]
    });
    compare("j1939_library", "fault_code_word", &parts, 0.0, 0.0, |row| {
        let four = code::fault_code_bytes(row[0] as i64, row[1] as i64, row[2] as i64).unwrap();
        vec![four.iter().rev().fold(0.0, |word, byte| word * 256.0 + *byte as f64)]
    });
}
