//! The examples of the doc comments run, and mistakes are told in words at their place.

use super::module;
use crate::electrical::helper::Kind;
use crate::electrical::reference::HELPERS;
use crate::electrical::results::Spot;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use crate::script::wanted::Wanted;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rhai::{Array, Dynamic, Engine, EvalAltResult, FuncRegistration, Module, Scope};

/// The least of a script's quantities that the examples need: units as getters, and minus.
fn units() -> Module {
    let mut module = Module::new();
    for (word, unit) in Unit::every() {
        FuncRegistration::new_getter(&word)
            .set_into_module(&mut module, move |number: &mut f64| unit.quantity(*number));
        FuncRegistration::new_getter(&word)
            .set_into_module(&mut module, move |number: &mut i64| unit.quantity(*number as f64));
    }
    module
}

fn engine() -> Engine {
    let mut engine = Engine::new();
    engine.register_global_module(units().into());
    engine.register_global_module(module(&Wanted::ALL).into());
    engine
}

fn printed(engine: &Engine, value: &Dynamic) -> String {
    if let Some(quantity) = value.clone().try_cast::<Quantity>() {
        return quantity.to_string();
    }
    if let Ok(list) = value.clone().into_array()
        && list.iter().all(|item| item.clone().is::<Spot>())
        && !list.is_empty()
    {
        let spots = list.into_iter().map(|item| item.cast::<Spot>().to_string());
        return spots.collect::<Vec<_>>().join("; ");
    }
    let mut scope = Scope::new();
    scope.push_dynamic("value", value.clone());
    engine.eval_with_scope(&mut scope, "value.to_string()").unwrap()
}

#[test]
fn the_examples_of_the_docs_print_what_they_say() {
    let engine = engine();
    let (mut checked, mut wrong) = (0, Vec::new());
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        let mut scope = Scope::new();
        for line in helper.examples() {
            let (script, expected) =
                line.split_once("  // ").map_or((line, None), |(script, rest)| (script, Some(rest)));
            let result = engine.eval_with_scope::<Dynamic>(&mut scope, script);
            let Some(expected) = expected else {
                assert!(result.is_ok(), "{line}: {result:?}");
                continue;
            };
            checked += 1;
            let got = result.map_or_else(|error| format!("error: {error}"), |value| printed(&engine, &value));
            if got != expected {
                wrong.push(format!("{script}\n   says {expected}\n   but  {got}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(checked >= 90, "only {checked} examples");
}

#[test]
fn every_helper_is_bound() {
    // Given nothing of the right kind, one that is there says in words what it wants.
    let engine = engine();
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        let nothing = vec!["()"; helper.parameters.len()].join(", ");
        let result = engine.eval::<Dynamic>(&format!("{}({nothing})", helper.name));
        let error = result.expect_err(helper.name);
        assert!(!matches!(*error, EvalAltResult::ErrorFunctionNotFound(..)), "{} is not bound: {error}", helper.name);
    }
}

fn error(script: &str) -> (String, String) {
    let error = engine().eval::<Dynamic>(script).unwrap_err();
    match *error {
        EvalAltResult::ErrorRuntime(payload, position) => (payload.to_string(), position.to_string()),
        other => panic!("{other:?}"),
    }
}

#[test]
fn mistakes_are_told_in_words_at_their_place() {
    for (script, words, place) in [
        (
            "let a = 1;\n  wire_drop(10, awg(14), 5.m)",
            "wire_drop: current must be amperes: give 10 its unit, such as 10.A",
            "line 2, position 3",
        ),
        (
            "wire_drop(10.A, 2.5, 5.m)",
            "wire_drop: wire must be ohms per metre: give 2.5 its unit, such as 2.5.ohm_per_m",
            "line 1, position 1",
        ),
        ("divider(5.V, 1.kohm, 2.2.A)", "divider: lower must be ohms, and 2.2 A is amperes", "line 1, position 1"),
        ("awg(57)", "awg: gauge must be from `4/0 (-3)` to 56, and it is 57", "line 1, position 1"),
        (
            "parallel([1.kohm, 2200])",
            "parallel: resistances must be ohms: give 2200 its unit, such as 2200.ohm",
            "line 1, position 1",
        ),
        (
            "series(1.kohm)",
            "series: resistances must be a list of quantities, as in [1.kohm, 2.kohm], not 1 kΩ",
            "line 1, position 1",
        ),
        (
            "tone_wheel_speed(80.Hz, 2.m)",
            "tone_wheel_speed: teeth must be a whole number without a unit, not 2 m",
            "line 1, position 1",
        ),
        (
            "rtd_temperature(5.ohm, 100.ohm)",
            "rtd_temperature: resistance must be from 18.52 Ω to 390.5 Ω, and it is 5 Ω",
            "line 1, position 1",
        ),
        (
            "ohms_law(5.V, 2.V)",
            "ohms_law: two of volts, amperes, ohms and watts are needed, and 5 V and 2 V are not two of them",
            "line 1, position 1",
        ),
        ("ohms_law(5.V, -2.ohm)", "ohms_law: 5 V and -2 Ω can't belong to one load", "line 1, position 1"),
        (
            "thinnest_iso_6722(300.A, 20.m, 0.2.V)",
            "thinnest_iso_6722: no wire of ISO 6722-1 is thick enough: its thickest, 50 mm², drops 2.208 V",
            "line 1, position 1",
        ),
    ] {
        let (got, at) = error(script);
        assert_eq!((got.as_str(), at.as_str()), (words, place), "{script}");
    }
}

#[test]
fn what_can_not_be_is_refused_in_one_sentence() {
    for (script, words) in [
        (r#"fault_code(0, 0, 0, 0)"#, "fault_code: four zero bytes stand for no active code"),
        (r#"fault_code_bytes(0, 0, 0)"#, "fault_code_bytes: four zero bytes stand for no active code"),
        (
            r#"steinhart_hart_fit(5.degC, 25.kohm, 25.degC, 10.kohm, 45.degC, 14.kohm)"#,
            "steinhart_hart_fit: resistances must fall as it gets hotter, and from 25 °C to 45 °C they go from 10 kΩ to 14 kΩ",
        ),
        (
            r#"source_resistance(12.6.V, -10.2.V, 180.A)"#,
            "source_resistance: loaded_volts is -10.2 V, below zero: are red and black swapped? Swap them and read again",
        ),
        (
            r#"sensor_position(0.V, 5.V, 80.pct, 100.pct)"#,
            "sensor_position: 0 V is -400 % of the way from at_start to at_end, and no stop is that far off: are the ends those of this sensor?",
        ),
        (
            r#"interpolate(1.V, [0.V, 2.V], [-300.degC, 20.degC])"#,
            "interpolate: to is -300 °C, below absolute zero (-273.15 °C)",
        ),
        (
            r#"transfer(-1.V, 0.V, -200.degC, 10.V, 900.degC)"#,
            "transfer: the result is -310 °C, below absolute zero (-273.15 °C)",
        ),
        (
            r#"signal_range(-1.pct, 4.pct, 96.pct)"#,
            "signal_range: share is -1 %, below zero: are red and black swapped? Swap them and read again",
        ),
        (
            r#"beta_resistance(50.degC, 10.kohm, 25.degC, 50.K)"#,
            "beta_resistance: beta is 50 K: a thermistor's lies from 100 K to 10000 K, below zero for one that rises",
        ),
        (
            r#"beta_from_points(25.degC, 10.kohm, 26.degC, 1.kohm)"#,
            "beta_from_points: beta is 205371 K: a thermistor's lies from 100 K to 10000 K, below zero for one that rises",
        ),
        (r#"ohms_law(1e300.V, 1.ohm)"#, "ohms_law: one is 1.000e300 V, beyond the 1.000e15 V that helpers reckon with"),
        (
            r#"ohms_law(1e9.V, 1.nohm)"#,
            "ohms_law: amperes is 1.000e18 A, beyond the 1.000e15 A that helpers reckon with",
        ),
        (
            r#"steinhart_hart_temperature(1.kohm, 1e16, 1.0, 1.0)"#,
            "steinhart_hart_temperature: a is 1e16, beyond the 1e15 that helpers reckon with",
        ),
        (
            r#"state_of_charge_by_table(12.3.V, 25.degC, 12.V, [12.3.V, 12.2.V], [50.pct, 75.pct])"#,
            "state_of_charge_by_table: table_volts must rise, lowest first, and does not at value 2, 12.2 V",
        ),
        (
            r#"signal_band(4.mA, 3.8.mA, 3.6.mA, 20.5.mA, 21.mA)"#,
            "signal_band: range_low must be above fault_low, and they are 3.6 mA and 3.8 mA",
        ),
        (r#"dm1_lamps(256, 0)"#, "dm1_lamps: byte_1 must be from 0 to 255, and it is 256"),
        (
            r#"code_assigned_by("P4133")"#,
            "code_assigned_by: code must be a trouble code such as P0133, and `P4133` is not",
        ),
        (r#"best_fit_trust([0.s, 1.s], [1.V, 2.V])"#, "best_fit_trust: readings needs 3 values or more, and has 2"),
    ] {
        assert_eq!(error(script), (words.to_owned(), "line 1, position 1".to_owned()), "{script}");
    }
}

#[test]
fn what_lies_at_the_edge_of_what_is_refused_is_taken() {
    let engine = engine();
    for (script, printed_as) in [
        ("sensor_position(0.V, 5.V, 10.pct, 90.pct)", "-12.5 %"),
        ("sensor_position(5.V, 5.V, 20.pct, 84.pct)", "125 %"),
        ("signal_range(0.pct, 4.pct, 96.pct)", "low"),
        ("signal_range(240.pct, 4.pct, 96.pct)", "high"),
        ("source_resistance(12.6.V, 0.V, 180.A)", "70 mΩ"),
        ("interpolate(0.V, [0.V, 2.V], [-459.67.degF, 68.degF])", "-273.2 °C"),
        (
            "fault_code(0, 0, 0, 1)",
            "spn 0, fmi 0, occurrences 1, conversion method 0, meaning above normal, most severe",
        ),
        ("10380.cmil", "5.26 mm²"),
    ] {
        let value = engine.eval::<Dynamic>(script).unwrap();
        assert_eq!(printed(&engine, &value), printed_as, "{script}");
    }
}

#[test]
fn numbers_may_be_whole_and_units_may_not_be_left_out() {
    let engine = engine();
    let pair: Array =
        engine.eval("[meter_accuracy(2.V, 0.5.pct, 3, 1.mV), meter_accuracy(2.V, 0.5.pct, 3.0, 1.mV)]").unwrap();
    assert_eq!(printed(&engine, &pair[0]), printed(&engine, &pair[1]));
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        let count = helper.parameters.len();
        // Nothing at all in every place: refused in the helper's own words, not by a missing function.
        let (words, _) = error(&format!("{}({})", helper.name, vec!["()"; count].join(", ")));
        assert!(words.starts_with(&format!("{}: ", helper.name)), "{words}");
    }
}

/// Something of this kind: usual, tiny, huge, zero, below zero; now and then of another kind.
fn something(random: &mut StdRng, kind: Kind) -> Dynamic {
    let sizes = [0.0, 1e-9, 1e-6, 0.02, 0.5, 1.0, 5.0, 12.0, 25.0, 300.0, 1e4, 1e9, 1e150, -1.0, -40.0, -1e9];
    // Now and then a system's voltage, without which some never answer.
    let size = |random: &mut StdRng| {
        if random.random_range(0..5) == 0 { 12.0 } else { sizes[random.random_range(0..sizes.len())] }
    };
    if random.random_range(0..12) == 0 {
        return [Dynamic::UNIT, 5.into(), 2.5.into(), "text".into(), Dynamic::from(Quantity::volts(1.0))]
            [random.random_range(0..5)]
        .clone();
    }
    match kind {
        Kind::Quantity(dimension) => Dynamic::from(Quantity::new(size(random), dimension)),
        Kind::Any => {
            use Dimension as D;
            let others = [D::CURRENT, D::RESISTANCE, D::POWER, D::TEMPERATURE, D::TEMPERATURE_DIFFERENCE, D::NONE];
            let other = others[random.random_range(0..others.len())];
            let dimension = if random.random_range(0..3) == 0 { other } else { D::VOLTAGE };
            Dynamic::from(Quantity::new(size(random), dimension))
        }
        Kind::Quantities(dimension) if random.random_range(0..2) == 0 => {
            (1..5).map(|at| Dynamic::from(Quantity::new(f64::from(at) / 10.0, dimension))).collect::<Array>().into()
        }
        Kind::Quantities(dimension) => (0..random.random_range(0..6))
            .map(|_| Dynamic::from(Quantity::new(size(random), dimension)))
            .collect::<Array>()
            .into(),
        Kind::AnyQuantities => {
            let rising = random.random_range(0..2) == 0;
            let count = random.random_range(0..8);
            let item =
                |(at, size): (i32, f64)| Dynamic::from(Quantity::volts(if rising { f64::from(at) } else { size }));
            let list: Vec<_> = (0..count).map(|at| (at, size(random))).collect();
            list.into_iter().map(item).collect::<Array>().into()
        }
        Kind::Number if random.random_range(0..2) == 0 => [1.1e-3, 2.3e-4, 8.8e-8][random.random_range(0..3)].into(),
        Kind::Number => size(random).into(),
        Kind::Whole => [0, 1, 5, 127, 255, 256, -1, 524_287, i64::MAX, i64::MIN][random.random_range(0..10)].into(),
        Kind::Text => ["", "P0133", "B", "continuous", "π", "AA"][random.random_range(0..6)].into(),
        Kind::Gauge => match random.random_range(0..6) {
            0 => "2/0".into(),
            1 => ["-3/0", "0/0", "5/0", "0", "00000", "-9223372036854775808/0", "1/0/0", "π/0"]
                [random.random_range(0..8)]
            .into(),
            _ => i64::from(random.random_range(-6..60)).into(),
        },
        Kind::Numbers | Kind::Fields(..) => Dynamic::UNIT,
    }
}

#[test]
fn whatever_is_given_the_answer_is_finite_or_an_error_in_words() {
    let engine = engine();
    let mut random = StdRng::seed_from_u64(7);
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        let names: Vec<_> = (0..helper.parameters.len()).map(|index| format!("a{index}")).collect();
        let call = engine.compile_expression(format!("{}({})", helper.name, names.join(", "))).unwrap();
        let mut answers = 0;
        for _ in 0..1000 {
            let mut scope = Scope::new();
            for (name, (_, kind)) in names.iter().zip(helper.parameters) {
                scope.push_dynamic(name.clone(), something(&mut random, *kind));
            }
            match engine.eval_ast_with_scope::<Dynamic>(&mut scope, &call) {
                Ok(value) => {
                    answers += 1;
                    let text = printed(&engine, &value);
                    assert!(!text.contains("NaN") && !text.contains("inf"), "{}: {text} from {scope:?}", helper.name);
                }
                Err(error) => match *error {
                    EvalAltResult::ErrorRuntime(words, _) => {
                        assert!(words.to_string().starts_with(&format!("{}: ", helper.name)), "{words}");
                    }
                    other => panic!("{}: {other:?} from {scope:?}", helper.name),
                },
            }
        }
        assert!(answers > 0, "{} never answered", helper.name);
    }
}
