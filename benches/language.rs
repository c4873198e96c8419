//! What a helper costs a script: against a bare function of the engine with as many arguments.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]

use ohmwright::model::quantity::Quantity;
use ohmwright::script::engine::Language;
use rhai::{Dynamic, Engine};
use std::time::Instant;

/// Calls in one run of the script.
const CALLS: usize = 10_000;

/// Helpers with the arguments that they are called with.
const HELPERS: [(&str, &str); 9] = [
    ("copper_resistance_at", "r, t, t"),
    ("heat_in", "r, i"),
    ("ohms_law", "v, i"),
    ("percent_of_reference", "v, w"),
    ("divider", "w, r, r"),
    ("wire_resistance", "g, l"),
    ("source_resistance", "w, v, i"),
    ("loaded_divider", "w, r, r, r"),
    ("meter_shows", "v, r, r"),
];

/// Nanoseconds of one call, the loop around it taken off.
fn call(engine: &Engine, name: &str, arguments: &str) -> f64 {
    let script = |body: &str| {
        format!(
            "let v = 4.5.V; let w = 5.V; let i = 2.A; let r = 2.2.kohm; let l = 5.m; let t = 40.degC; let g = awg(16);\nfor n in 0..{CALLS} {{ {body} }}"
        )
    };
    let time = |body: &str| {
        let ast = engine.compile(script(body)).unwrap_or_else(|error| panic!("{error}"));
        let mut best = f64::INFINITY;
        for _ in 0..15 {
            let begin = Instant::now();
            engine.run_ast(&ast).unwrap_or_else(|error| panic!("{name}({arguments}): {error}"));
            best = best.min(begin.elapsed().as_secs_f64() * 1e9 / CALLS as f64);
        }
        best
    };
    time(&format!("{name}({arguments});")) - time("")
}

fn main() {
    let mut engine = Language::whole().engine();
    engine.set_max_operations(0);
    engine.register_fn("bare", |a: Quantity| a);
    engine.register_fn("bare", |a: Quantity, _: Quantity| a);
    engine.register_fn("bare", |a: Quantity, _: Quantity, _: Quantity| a);
    engine.register_fn("bare", |a: Quantity, _: Quantity, _: Quantity, _: Quantity| a);
    engine.register_fn("bare", |_: Dynamic, a: Quantity, _: Quantity| a);
    let mut worst: f64 = 0.0;
    for (name, arguments) in HELPERS {
        let (helper, bare) = (call(&engine, name, arguments), call(&engine, "bare", arguments));
        worst = worst.max(helper / bare);
        println!("{name}({arguments}): {:.2} of a bare call ({helper:.0} ns, {bare:.0} ns)", helper / bare);
    }
    println!("a helper call from a script: at most {worst:.2} of a bare call");
}
