//! A simulated circuit at the prompt: `bench("flap_sensor", "signal_wire_open")`, then `volts("C41.3", "C41.2")`.

use super::context::{ScriptResult, error_at};
use super::function_doc::{FunctionDoc, Kind};
use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::fault::FaultId;
use crate::circuit::meter::{Reading, Shown};
use crate::circuit::netlist::Circuit;
use crate::circuit::sample::Sample;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use crate::model::typed;
use crate::model::vehicle::{Action, Battery, Jumper, Key};
use rhai::{Array, Dynamic, FuncRegistration, ImmutableString, Module, NativeCallContext};
use std::sync::{Arc, Mutex};

/// Finds a circuit by name; a sentence where there is none.
pub type FindCircuit = dyn Fn(&str) -> Result<Arc<Circuit>, String> + Send + Sync;
/// The circuit that answers, if one was taken.
pub type Answering = Arc<Mutex<Option<Bench>>>;

type C<'a> = NativeCallContext<'a>;
type S = ImmutableString;

fn with<T>(ctx: &C, answering: &Answering, call: impl FnOnce(&mut Bench) -> Result<T, SolveError>) -> ScriptResult<T> {
    let mut answering = answering.lock().map_err(|_| error_at(ctx, "the circuit was left locked"))?;
    let bench = answering.as_mut().ok_or_else(|| error_at(ctx, "take a circuit first: bench(\"flap_sensor\")"))?;
    call(bench).map_err(|error| error_at(ctx, error))
}

/// A number as a quantity; what is no number as the text on the display.
fn shown(reading: &Reading) -> Dynamic {
    match reading.shown {
        Shown::Value(value) => Dynamic::from(value),
        Shown::Unsteady { .. } | Shown::OverRange | Shown::Nothing => reading.text().into(),
    }
}

fn take(
    ctx: &C,
    answering: &Answering,
    find: &FindCircuit,
    name: &str,
    faults: &[String],
) -> ScriptResult<ImmutableString> {
    let circuit = find(name).map_err(|problem| error_at(ctx, problem))?;
    let ids: Vec<FaultId> = faults.iter().map(|fault| FaultId::from(fault.as_str())).collect();
    let title = circuit.title.clone();
    let meter = crate::circuit::meter::bench_meter();
    let bench = Bench::new(circuit, &ids, Sample::NOMINAL, meter).map_err(|error| error_at(ctx, error))?;
    *answering.lock().map_err(|_| error_at(ctx, "the circuit was left locked"))? = Some(bench);
    let faults = if faults.is_empty() { "healthy".to_owned() } else { faults.join(", ") };
    Ok(format!("{title}: {faults}").into())
}

/// The help texts of these functions.
pub const FUNCTION_DOCS: &[FunctionDoc] = &[
    FunctionDoc::function("bench", &[("circuit", Kind::Text)], Kind::Text, "Takes a healthy circuit to measure on."),
    FunctionDoc::function(
        "bench",
        &[("circuit", Kind::Text), ("fault", Kind::Text)],
        Kind::Text,
        "Takes a circuit with a fault in it.",
    ),
    FunctionDoc::function(
        "bench",
        &[("circuit", Kind::Text), ("faults", Kind::List)],
        Kind::Text,
        "Takes a circuit with several faults in it.",
    ),
    FunctionDoc::function(
        "volts",
        &RED_BLACK,
        Kind::Quantity,
        "Volts that the meter shows with red on one point and black on the other.",
    ),
    FunctionDoc::function(
        "ac_volts",
        &RED_BLACK,
        Kind::Quantity,
        "AC volts that the meter shows between two points, without what is direct.",
    ),
    FunctionDoc::function("ohms", &RED_BLACK, Kind::Quantity, "Ohms that the meter shows between two points."),
    FunctionDoc::function("diode", &RED_BLACK, Kind::Quantity, "Volts that the diode test shows, red to black."),
    FunctionDoc::function("amperes", &RED_BLACK, Kind::Quantity, "Amperes with the meter across two points."),
    FunctionDoc::function(
        "amperes",
        &[("at", Kind::Text)],
        Kind::Quantity,
        "Amperes with the meter in line, in place of a fuse or at a pin.",
    ),
    FunctionDoc::function("duty", &RED_BLACK, Kind::Quantity, "Duty that the meter shows between two points."),
    FunctionDoc::function("hertz", &RED_BLACK, Kind::Quantity, "Frequency that the meter shows between two points."),
    FunctionDoc::function(
        "module_shows",
        &[("signal", Kind::Text)],
        Kind::Quantity,
        "What the control module shows for a signal.",
    ),
    FunctionDoc::function(
        "wait",
        &[("time", Kind::Quantity)],
        Kind::Nothing,
        "Lets time pass: loads come and go, modules fall asleep, a battery runs down.",
    ),
    FunctionDoc::function("key_on", &[], Kind::Nothing, "Turns the simulated vehicle's key on."),
    FunctionDoc::function("key_off", &[], Kind::Nothing, "Turns the key off; a running engine stops."),
    FunctionDoc::function("key_accessory", &[], Kind::Nothing, "Turns the key to its accessory position."),
    FunctionDoc::function("start_engine", &[], Kind::Nothing, "Starts the engine and lets it run."),
    FunctionDoc::function("stop_engine", &[], Kind::Nothing, "Stops the engine, or stops cranking."),
    FunctionDoc::function("crank", &[], Kind::Nothing, "Cranks the engine."),
    FunctionDoc::function("unplug", &[("connector", Kind::Text)], Kind::Nothing, "Takes a connector apart."),
    FunctionDoc::function("plug", &[("connector", Kind::Text)], Kind::Nothing, "Puts a connector together."),
    FunctionDoc::function(
        "take_out",
        &[("part", Kind::Text)],
        Kind::Nothing,
        "Takes a fuse or relay out of its socket.",
    ),
    FunctionDoc::function(
        "put_back",
        &[("part", Kind::Text)],
        Kind::Nothing,
        "Puts a fuse or relay back into its socket.",
    ),
    FunctionDoc::function("disconnect_battery", &[], Kind::Nothing, "Disconnects the battery."),
    FunctionDoc::function("connect_battery", &[], Kind::Nothing, "Connects the battery."),
    FunctionDoc::function(
        "hold",
        &[("part", Kind::Text), ("position", Kind::Text)],
        Kind::Nothing,
        "Holds, turns or switches something, and leaves it there.",
    ),
    FunctionDoc::function("release", &[("part", Kind::Text)], Kind::Nothing, "Lets go of something that was held."),
    FunctionDoc::function(
        "connect",
        &[("from", Kind::Text), ("to", Kind::Text)],
        Kind::Nothing,
        "Puts a jumper wire between two points.",
    ),
    FunctionDoc::function(
        "connect",
        &[("from", Kind::Text), ("to", Kind::Text), ("through", Kind::Quantity)],
        Kind::Nothing,
        "Puts a resistor between two points.",
    ),
    FunctionDoc::function(
        "disconnect",
        &[("from", Kind::Text), ("to", Kind::Text)],
        Kind::Nothing,
        "Takes away what was put between two points.",
    ),
];

const RED_BLACK: [(&str, Kind); 2] = [("red", Kind::Text), ("black", Kind::Text)];

/// The functions of the prompt that speak to a circuit, in place of those that speak to a person.
pub fn module(find: Arc<FindCircuit>, answering: &Answering) -> Module {
    let mut module = Module::new();
    macro_rules! function {
        ($name:literal, |$answering:ident, $ctx:ident $(, $argument:ident: $kind:ty)*| $body:expr) => {{
            let $answering = Arc::clone(answering);
            FuncRegistration::new($name)
                .in_global_namespace()
                .set_into_module(&mut module, move |$ctx: C $(, $argument: $kind)*| $body);
        }};
    }
    {
        let find = Arc::clone(&find);
        function!("bench", |answering, ctx, name: S| take(&ctx, &answering, &*find, &name, &[]));
    }
    {
        let find = Arc::clone(&find);
        function!("bench", |answering, ctx, name: S, fault: S| take(
            &ctx,
            &answering,
            &*find,
            &name,
            &[fault.to_string()]
        ));
    }
    {
        function!("bench", |answering, ctx, name: S, faults: Array| {
            let faults: Vec<String> = faults.into_iter().filter_map(|fault| fault.into_string().ok()).collect();
            take(&ctx, &answering, &*find, &name, &faults)
        });
    }
    macro_rules! measures {
        ($($name:literal => $method:ident),+) => {$(
            function!($name, |answering, ctx, red: S, black: S|
                with(&ctx, &answering, |bench| bench.$method(&red, &black)).map(|reading| shown(&reading)));
        )+};
    }
    measures! { "volts" => volts, "ac_volts" => ac_volts, "ohms" => ohms, "diode" => diode, "amperes" => amperes, "duty" => duty, "hertz" => hertz }
    function!("amperes", |answering, ctx, at: S| {
        with(&ctx, &answering, |bench| bench.amperes_through(&at)).map(|reading| shown(&reading))
    });
    function!("module_shows", |answering, ctx, signal: S| {
        with(&ctx, &answering, |bench| bench.module_shows(&signal)).map(|shown| match shown {
            Shown::Value(value) => Dynamic::from(value),
            Shown::Unsteady { lowest, highest } => typed::range(&lowest.to_string(), &highest.to_string()).into(),
            Shown::OverRange | Shown::Nothing => "—".into(),
        })
    });
    macro_rules! acts {
        ($($name:literal ($($argument:ident: $kind:ty),*) => $action:expr;)+) => {$(
            function!($name, |answering, ctx $(, $argument: $kind)*| {
                let action = $action;
                with(&ctx, &answering, |bench| {
                    let state = bench.state().after(&action, Some(0));
                    bench.set_state(&state)
                })
            });
        )+};
    }
    acts! {
        "key_on" () => Action::TurnKey { to: Key::On };
        "key_off" () => Action::TurnKey { to: Key::Off };
        "key_accessory" () => Action::TurnKey { to: Key::Accessory };
        "start_engine" () => Action::StartEngine;
        "stop_engine" () => Action::StopEngine;
        "crank" () => Action::Crank;
        "unplug" (name: S) => Action::Unplug { connector: name.to_string() };
        "plug" (name: S) => Action::Plug { connector: name.to_string() };
        "take_out" (name: S) => Action::TakeOut { part: name.to_string() };
        "put_back" (name: S) => Action::PutBack { part: name.to_string() };
        "disconnect_battery" () => Action::MoveBatteryCable { to: Battery::Disconnected };
        "connect_battery" () => Action::MoveBatteryCable { to: Battery::Connected };
        "hold" (part: S, position: S) => Action::Hold { part: part.to_string(), position: position.to_string() };
        "release" (part: S) => Action::Release { part: part.to_string() };
        "connect" (from: S, to: S) => Action::Connect { jumper: Jumper { from: from.to_string(), to: to.to_string(), through: None } };
        "disconnect" (from: S, to: S) => Action::Disconnect { from: from.to_string(), to: to.to_string() };
    }
    function!("wait", |answering, ctx, time: Quantity| {
        if time.dimension() != Dimension::TIME || time.si() < 0.0 {
            return Err(error_at(&ctx, format!("{time} is not a time to wait: give it as `20.min`")));
        }
        with(&ctx, &answering, |bench| bench.wait(time.si()))
    });
    function!("connect", |answering, ctx, from: S, to: S, through: Quantity| {
        if through.dimension() != Dimension::RESISTANCE || through.si() < 0.0 {
            return Err(error_at(&ctx, format!("{through} is nothing to connect through: give a resistance in ohm")));
        }
        let jumper = Jumper { from: from.to_string(), to: to.to_string(), through: Some(through) };
        with(&ctx, &answering, |bench| {
            let state = bench.state().after(&Action::Connect { jumper }, Some(0));
            bench.set_state(&state)
        })
    });
    module.build_index();
    module
}
