//! Actions: what the technician does that changes the vehicle.

use super::super::context::{ScriptResult, context, script_error_at, with_session};
use super::functions::functions;
use super::limits::Methods;
use super::prompts::{movable, not_too_long, refused_anew};
use crate::model::dimension::Dimension;
use crate::model::points::Points;
use crate::model::quantity::Quantity;
use crate::model::vehicle::method::Method;
use crate::model::vehicle::wait_for::WaitFor;
use crate::model::vehicle::{Action, Battery, Jumper, Key, Lift, Wheels};
use crate::model::words;
use crate::script::type_name::TypeName;
use crate::script::wanted::Wanted;
use rhai::{Array, ImmutableString, Module, NativeCallContext};

type C<'a> = NativeCallContext<'a>;
type S = ImmutableString;

fn act(ctx: &NativeCallContext, action: Action) -> ScriptResult<()> {
    with_session(ctx, |session| session.act(action))
}

fn connector(ctx: &NativeCallContext, name: &str) -> ScriptResult<String> {
    let context = context(ctx)?;
    let known = context.points.as_deref().map(|points| &points.connectors);
    not_too_long(ctx, "a connector's name", name)?;
    Points::known(known, "connector", name).map_err(|error| script_error_at(ctx, error))?;
    Ok(name.to_owned())
}

fn part(ctx: &NativeCallContext, name: &str) -> ScriptResult<String> {
    let context = context(ctx)?;
    let known = context.points.as_deref().map(|points| &points.parts);
    not_too_long(ctx, "a part's name", name)?;
    Points::known(known, "fuse or relay", name).map_err(|error| script_error_at(ctx, error))?;
    Ok(name.to_owned())
}

fn hold(ctx: &NativeCallContext, part: &str, position: &str) -> ScriptResult<()> {
    movable(ctx, part)?;
    not_too_long(ctx, "a position", position)?;
    let known = context(ctx)?;
    if let Err(error) = Points::stands(known.points.as_deref(), part, position) {
        refused_anew(ctx, &error)?;
    }
    act(ctx, Action::Hold { part: part.to_owned(), position: position.to_owned() })
}

fn known_ends(ctx: &NativeCallContext, ends: [&str; 2]) -> ScriptResult<()> {
    let context = context(ctx)?;
    for name in ends {
        not_too_long(ctx, "a point's name", name)?;
        Points::end(context.points.as_deref(), name).map_err(|error| script_error_at(ctx, error))?;
    }
    Ok(())
}

fn disconnect(ctx: &NativeCallContext, from: &str, to: &str) -> ScriptResult<()> {
    known_ends(ctx, [from, to])?;
    act(ctx, Action::Disconnect { from: from.to_owned(), to: to.to_owned() })
}

fn jumper(ctx: &NativeCallContext, from: &str, to: &str, through: Option<Quantity>) -> ScriptResult<()> {
    known_ends(ctx, [from, to])?;
    if let Some(resistance) = through
        && (resistance.dimension() != Dimension::RESISTANCE || resistance.si() < 0.0)
    {
        return Err(script_error_at(
            ctx,
            format!("{resistance} is nothing to connect through: give a resistance in ohm"),
        ));
    }
    let known = context(ctx)?;
    if holds_nothing_back(through) && Points::shorts(known.points.as_deref(), from, to) {
        refused_anew(ctx, &shorts_the_supply(from, to))?;
    }
    act(ctx, Action::Connect { jumper: Jumper { from: from.to_owned(), to: to.to_owned(), through } })
}

/// Ohms below which what is put across a vehicle's battery shorts it (common practice, no source).
const SHORT: f64 = 0.1;

/// Whether what connects two points is as good as a wire.
pub fn holds_nothing_back(through: Option<Quantity>) -> bool {
    through.is_none_or(|resistance| resistance.si() < SHORT)
}

/// What is wrong with a wire between the two sides of a battery.
pub fn shorts_the_supply(from: &str, to: &str) -> String {
    format!("a wire from `{from}` to `{to}` shorts the supply")
}

fn time_to_wait(ctx: &NativeCallContext, time: Quantity) -> ScriptResult<Quantity> {
    if time.dimension() != Dimension::TIME || time.si() < 0.0 {
        return Err(script_error_at(ctx, format!("{time} is not a time to wait: write 40.min or 30.s")));
    }
    Ok(time)
}

fn wait(ctx: &NativeCallContext, time: Quantity, because: Option<WaitFor>) -> ScriptResult<()> {
    let time = time_to_wait(ctx, time)?;
    act(ctx, Action::Wait { time, because })
}

fn what_for(ctx: &NativeCallContext, because: &str) -> ScriptResult<WaitFor> {
    WaitFor::named(because).ok_or_else(|| {
        let meant = words::did_you_mean(words::nearest(because, WaitFor::WORDS).as_deref());
        script_error_at(
            ctx,
            format!(
                "`{}` is nothing that is waited for{meant}: write one of {}",
                words::cut(because.to_owned(), 60),
                WaitFor::WORDS.join(", ")
            ),
        )
    })
}

fn carry_out(ctx: &NativeCallContext, text: &str, methods: Option<Vec<Method>>) -> ScriptResult<()> {
    if text.trim().is_empty() {
        return Err(script_error_at(ctx, "say what to carry out"));
    }
    not_too_long(ctx, "what to carry out", text)?;
    act(ctx, Action::CarryOut { text: text.to_owned(), methods })
}

fn methods(ctx: &NativeCallContext, names: Array) -> ScriptResult<Methods> {
    let mut methods = Vec::with_capacity(names.len());
    for name in names {
        let name = name
            .into_immutable_string()
            .map_err(|kind| script_error_at(ctx, format!("a method is named by a text, not {}", TypeName::of(kind))))?;
        let method = Method::named(&name).ok_or_else(|| {
            let nearest = words::nearest(&name, Method::ALL.into_iter().map(Method::name));
            script_error_at(ctx, format!("there is no method `{name}`{}", words::did_you_mean(nearest.as_deref())))
        })?;
        if !methods.contains(&method) {
            methods.push(method);
        }
    }
    Ok(Methods(methods))
}

fn undone_by(ctx: &NativeCallContext, text: &str, methods: Option<Vec<Method>>) -> ScriptResult<()> {
    if text.trim().is_empty() {
        return Err(script_error_at(ctx, "say what undoes it"));
    }
    not_too_long(ctx, "what undoes it", text)?;
    with_session(ctx, |session| {
        session.undone_by(text, methods);
        Ok(())
    })
}

functions! { volatile: true;
    "key_on" () "Turn the key on; an engine that runs goes on running." => |ctx: C| act(&ctx, Action::TurnKey { to: Key::On });
    "key_off" () "Turn the key off; a running engine stops." => |ctx: C| act(&ctx, Action::TurnKey { to: Key::Off });
    "key_accessory" () "Turn the key to its accessory position." => |ctx: C| act(&ctx, Action::TurnKey { to: Key::Accessory });
    "start_engine" () "Start the engine and let it run." => |ctx: C| act(&ctx, Action::StartEngine);
    "stop_engine" () "Stop the engine, or stop cranking." => |ctx: C| act(&ctx, Action::StopEngine);
    "crank" () "Crank the engine while the next readings are taken." => |ctx: C| act(&ctx, Action::Crank);
    "raise_lift" () "Raise the vehicle and set its supports." => |ctx: C| act(&ctx, Action::MoveLift { to: Lift::Raised });
    "lower_lift" () "Lower the vehicle to the floor." => |ctx: C| act(&ctx, Action::MoveLift { to: Lift::Down });
    "chock_wheels" () "Chock the wheels, out of gear, brake on." => |ctx: C| act(&ctx, Action::SecureWheels { to: Wheels::Chocked });
    "remove_chocks" () "Take the chocks away." => |ctx: C| act(&ctx, Action::SecureWheels { to: Wheels::Free });
    "disconnect_battery" () "Take the negative cable off the battery; the positive stays on." => |ctx: C| act(&ctx, Action::MoveBatteryCable { to: Battery::Disconnected });
    "connect_battery" () "Put the negative cable back on the battery." => |ctx: C| act(&ctx, Action::MoveBatteryCable { to: Battery::Connected });
    "unplug" (connector: Text) "Take a connector apart." => |ctx: C, name: S| -> ScriptResult<()> {
        let connector = connector(&ctx, &name)?;
        act(&ctx, Action::Unplug { connector }) };
    "plug" (connector: Text) "Put a connector together." => |ctx: C, name: S| -> ScriptResult<()> {
        let connector = connector(&ctx, &name)?;
        act(&ctx, Action::Plug { connector }) };
    "take_out" (part: Text) "Take a fuse or relay out of its socket." => |ctx: C, name: S| -> ScriptResult<()> {
        let part = part(&ctx, &name)?;
        act(&ctx, Action::TakeOut { part }) };
    "put_back" (part: Text) "Put a fuse or relay back into its socket." => |ctx: C, name: S| -> ScriptResult<()> {
        let part = part(&ctx, &name)?;
        act(&ctx, Action::PutBack { part }) };
    "hold" (part: Text, position: Text) "Hold, turn or switch something, and leave it there." => |ctx: C, part: S, position: S| hold(&ctx, &part, &position);
    "release" (part: Text) "Let go of something that was held, or switch it back." => |ctx: C, part: S| -> ScriptResult<()> {
        movable(&ctx, &part)?;
        act(&ctx, Action::Release { part: part.into() }) };
    "connect" (from: Text, to: Text) "Put a jumper wire between two points." => |ctx: C, from: S, to: S| jumper(&ctx, &from, &to, None);
    "connect" (from: Text, to: Text, through: Quantity) "Put a resistor or a substitute load between two points." => |ctx: C, from: S, to: S, through: Quantity| jumper(&ctx, &from, &to, Some(through));
    "disconnect" (from: Text, to: Text) "Take away what was put between two points." => |ctx: C, from: S, to: S| disconnect(&ctx, &from, &to);
    "wait" (time: Quantity) "Let time pass: `wait(40.min)`." => |ctx: C, time: Quantity| wait(&ctx, time, None);
    "wait" (time: Quantity, because: Text) "Let time pass until something is `asleep`, `cooled`, `discharged`, `rested` or `charged`; a `discharged` wait can't be shortened." => |ctx: C, time: Quantity, because: S| -> ScriptResult<()> {
        let because = what_for(&ctx, &because)?;
        wait(&ctx, time, Some(because)) };
    "begin_wait" (time: Quantity, because: Text) "A wait during which readings are taken, until `end_wait()`: `rested` or `charged`." => |ctx: C, time: Quantity, because: S| -> ScriptResult<()> {
        let (time, because) = (time_to_wait(&ctx, time)?, what_for(&ctx, &because)?);
        with_session(&ctx, |session| session.begin_wait(time, because)) };
    "end_wait" () "Wait for the rest of what `begin_wait` began." => |ctx: C| with_session(&ctx, |session| session.end_wait());
    "undone_by" (text: Text) "What undoes what was done in your own words: offered at every ending until a `carry_out` with these words did it." => |ctx: C, text: S| undone_by(&ctx, &text, None);
    "undone_by" (text: Text, methods: Methods) "The same, with what the hands do by it: its cautions come before it." =>
        |ctx: C, text: S, methods: Methods| undone_by(&ctx, &text, Some(methods.0));
    "question_tells" () "The next question's words tell the technician to do the action that follows: it is not asked for by itself." => |ctx: C| -> ScriptResult<()> {
        with_session(&ctx, |session| { session.question_tells(); Ok(()) }) };
    "carry_out" (text: Text) "Anything else to do, in your own words. Without `methods` it counts as whatever a caution of the place speaks of." => |ctx: C, text: S| carry_out(&ctx, &text, None);
    "carry_out" (text: Text, methods: Methods) "The same, with what the hands do by it: its cautions come before it." =>
        |ctx: C, text: S, methods: Methods| carry_out(&ctx, &text, Some(methods.0));
    "methods" (names: List) -> Methods "What the hands do: `methods([\"battery_cable\"])`; `methods([])` where no caution speaks of it. Known are `volts`, `ohms`, `amperes`, `diode`, `other_reading`, `key_on`, `start_engine`, `crank`, `move_lift`, `unplug`, `plug`, `handle_part`, `battery_cable`, `move_by_hand`, `connect`, `disconnect`, `battery_off`, `load_tester`, `hot_air`." =>
        |ctx: C, names: Array| methods(&ctx, names);
}

/// The actions.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    register(&mut module, wanted);
    module
}
