//! The examples of the doc comments run, and mistakes are told in words at their place.

use super::module;
use crate::model::electrical::{HELPERS, Spot};
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
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
    engine.register_global_module(module().into());
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
    let module = module();
    let signatures: Vec<_> = module.gen_fn_signatures_with_mapper(Into::into).collect();
    for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
        let start = format!("{}(", helper.name);
        assert!(signatures.iter().any(|signature| signature.starts_with(&start)), "{} is not bound", helper.name);
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
