//! A simulated circuit at the prompt: `bench("flap_sensor", "signal_wire_open")`, then `volts("C41.3", "C41.2")`.

use super::context::{ScriptResult, error_at};
use super::help::Word;
use crate::circuit::error::SolveError;
use crate::circuit::meter::{Reading, Shown};
use crate::circuit::{Bench, Circuit, FaultId, Sample};
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
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
        Shown::OverRange | Shown::Nothing => reading.text().into(),
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

/// What help says of these functions.
pub const WORDS: &[Word] = &[
    word("bench", &["circuit: String", "String"], "Takes a healthy circuit to measure on."),
    word("bench", &["circuit: String", "fault: String", "String"], "Takes a circuit with a fault in it."),
    word("bench", &["circuit: String", "faults: Array", "String"], "Takes a circuit with several faults in it."),
    word("volts", &RED_BLACK, "Volts that the meter shows with red on one point and black on the other."),
    word("ohms", &RED_BLACK, "Ohms that the meter shows between two points."),
    word("diode", &RED_BLACK, "Volts that the diode test shows, red to black."),
    word("amperes", &RED_BLACK, "Amperes with the meter across two points."),
    word("amperes", &["at: String", "Quantity"], "Amperes with the meter in line, in place of a fuse or at a pin."),
    word("duty", &RED_BLACK, "Duty that the meter shows between two points."),
    word("hertz", &RED_BLACK, "Frequency that the meter shows between two points."),
    word("module_shows", &["signal: String", "Quantity"], "What the control module shows for a signal."),
    word("key_on", &["()"], "Turns the simulated vehicle's key on."),
    word("key_off", &["()"], "Turns the key off; a running engine stops."),
    word("key_accessory", &["()"], "Turns the key to its accessory position."),
    word("start_engine", &["()"], "Starts the engine and lets it run."),
    word("stop_engine", &["()"], "Stops the engine, or stops cranking."),
    word("crank", &["()"], "Cranks the engine."),
    word("unplug", &["connector: String", "()"], "Takes a connector apart."),
    word("plug", &["connector: String", "()"], "Puts a connector together."),
    word("take_out", &["part: String", "()"], "Takes a fuse or relay out of its socket."),
    word("put_back", &["part: String", "()"], "Puts a fuse or relay back into its socket."),
    word("disconnect_battery", &["()"], "Disconnects the battery."),
    word("connect_battery", &["()"], "Connects the battery."),
    word(
        "hold",
        &["part: String", "position: String", "()"],
        "Holds, turns or switches something, and leaves it there.",
    ),
    word("release", &["part: String", "()"], "Lets go of something that was held."),
    word("connect", &["from: String", "to: String", "()"], "Puts a jumper wire between two points."),
    word("connect", &["from: String", "to: String", "through: Quantity", "()"], "Puts a resistor between two points."),
    word("disconnect", &["from: String", "to: String", "()"], "Takes away what was put between two points."),
];

const RED_BLACK: [&str; 3] = ["red: String", "black: String", "Quantity"];

const fn word(name: &'static str, kinds: &'static [&'static str], doc: &'static str) -> Word {
    Word { name, kinds, doc }
}

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
    measures! { "volts" => volts, "ohms" => ohms, "diode" => diode, "amperes" => amperes, "duty" => duty, "hertz" => hertz }
    function!("amperes", |answering, ctx, at: S| {
        with(&ctx, &answering, |bench| bench.amperes_through(&at)).map(|reading| shown(&reading))
    });
    function!("module_shows", |answering, ctx, signal: S| {
        with(&ctx, &answering, |bench| bench.module_shows(&signal)).map(|shown| match shown {
            Shown::Value(value) => Dynamic::from(value),
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
