//! Actions: what the technician does that changes the vehicle.

use super::super::context::{ScriptResult, context, script_error_at, with_session};
use super::functions::functions;
use super::prompts::{movable, not_too_long, refused_anew};
use crate::model::dimension::Dimension;
use crate::model::points::Points;
use crate::model::quantity::Quantity;
use crate::model::vehicle::{Action, Battery, Jumper, Key, Lift, Wheels};
use crate::script::wanted::Wanted;
use rhai::{ImmutableString, Module, NativeCallContext};

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

fn wait(ctx: &NativeCallContext, time: Quantity) -> ScriptResult<()> {
    if time.dimension() != Dimension::TIME || time.si() < 0.0 {
        return Err(script_error_at(ctx, format!("{time} is not a time to wait: write 40.min or 30.s")));
    }
    act(ctx, Action::Wait { time })
}

fn carry_out(ctx: &NativeCallContext, text: &str) -> ScriptResult<()> {
    if text.trim().is_empty() {
        return Err(script_error_at(ctx, "say what to carry out"));
    }
    not_too_long(ctx, "what to carry out", text)?;
    act(ctx, Action::CarryOut { text: text.to_owned() })
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
    "wait" (time: Quantity) "Let time pass: `wait(40.min)`." => |ctx: C, time: Quantity| wait(&ctx, time);
    "carry_out" (text: Text) "Anything else to do, in your own words." => |ctx: C, text: S| carry_out(&ctx, &text);
}

/// The actions.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    register(&mut module, wanted);
    module
}
