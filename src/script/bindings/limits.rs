//! Limits, ends of a sweep and where the leads go.

use super::super::context::{ScriptResult, context, script_error_at};
use super::functions::functions;
use crate::model::limits::{Limits, LimitsError};
use crate::model::points::Points;
use crate::model::prompt::{Ends, Leads};
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use crate::model::vehicle::method::Method;
use crate::script::wanted::Wanted;
use rhai::{FLOAT, FuncRegistration, INT, ImmutableString, Module, NativeCallContext};

type C<'a> = NativeCallContext<'a>;
type Q = Quantity;
type S = ImmutableString;

/// Something moved by hand during a sweep.
#[derive(Clone, Debug)]
pub struct Moving(pub ImmutableString);

/// Methods.
#[derive(Clone, Debug)]
pub struct Methods(pub Vec<Method>);

/// Places with hazards.
#[derive(Clone, Debug)]
pub struct Near(pub Vec<String>);

fn at(
    ctx: &NativeCallContext,
    limits: Result<Limits, LimitsError>,
    source: Option<ImmutableString>,
) -> ScriptResult<Limits> {
    let mut limits = limits.map_err(|error| script_error_at(ctx, error))?;
    limits.source = source.map(|source| source.to_string());
    Ok(limits)
}

fn ends(
    ctx: &NativeCallContext,
    one: Quantity,
    other: Quantity,
    tolerance: Option<Quantity>,
    source: Option<ImmutableString>,
) -> ScriptResult<Ends> {
    let between = if one.si() <= other.si() { Limits::between(one, other) } else { Limits::between(other, one) };
    let unit = between.map_err(|error| script_error_at(ctx, error))?.unit;
    let span = one.minus(other).map_err(|error| script_error_at(ctx, error))?.absolute_value();
    let tolerance = tolerance.unwrap_or(span.with_si(span.si() * 0.1));
    if tolerance.dimension() != span.dimension() || tolerance.si() <= 0.0 {
        return Err(script_error_at(
            ctx,
            format!("{tolerance} can't be how far off an end may be: it must be above zero, in the unit of the ends"),
        ));
    }
    Ok(Ends { one, other, tolerance, unit, source: source.map(|source| source.to_string()) })
}

fn across(ctx: &NativeCallContext, red: &str, black: &str) -> ScriptResult<Leads> {
    let context = context(ctx)?;
    let end = |name: &str| Points::end(context.points.as_deref(), name).map_err(|error| script_error_at(ctx, error));
    Ok(Leads::Across { red: end(red)?, black: end(black)? })
}

fn through(ctx: &NativeCallContext, at: &str) -> ScriptResult<Leads> {
    let context = context(ctx)?;
    let at = Points::in_line(context.points.as_deref(), at).map_err(|error| script_error_at(ctx, error))?;
    Ok(Leads::Through { at })
}

fn clamp(ctx: &NativeCallContext, at: &str) -> ScriptResult<Leads> {
    let context = context(ctx)?;
    let at = Points::in_line(context.points.as_deref(), at).map_err(|error| script_error_at(ctx, error))?;
    Ok(Leads::Clamp { at })
}

functions! { volatile: false;
    "between" (low: Quantity, high: Quantity) -> Limits "From low to high, both included." =>
        |ctx: C, low: Q, high: Q| at(&ctx, Limits::between(low, high), None);
    "between" (low: Quantity, high: Quantity, source: Text) -> Limits "From low to high, and where that comes from." =>
        |ctx: C, low: Q, high: Q, source: S| at(&ctx, Limits::between(low, high), Some(source));
    "within" (nominal: Quantity, tolerance: Quantity) -> Limits "A value and how far off it may be: `5.pct` of it, or a quantity of its kind." =>
        |ctx: C, nominal: Q, tolerance: Q| at(&ctx, Limits::within(nominal, tolerance), None);
    "within" (nominal: Quantity, tolerance: Quantity, source: Text) -> Limits "A value and how far off it may be, and where that comes from." =>
        |ctx: C, nominal: Q, tolerance: Q, source: S| at(&ctx, Limits::within(nominal, tolerance), Some(source));
    "at_most" (high: Quantity) -> Limits "No more than this." =>
        |ctx: C, high: Q| at(&ctx, Limits::at_most(high), None);
    "at_most" (high: Quantity, source: Text) -> Limits "No more than this, and where that comes from." =>
        |ctx: C, high: Q, source: S| at(&ctx, Limits::at_most(high), Some(source));
    "at_least" (low: Quantity) -> Limits "No less than this." =>
        |ctx: C, low: Q| at(&ctx, Limits::at_least(low), None);
    "at_least" (low: Quantity, source: Text) -> Limits "No less than this, and where that comes from." =>
        |ctx: C, low: Q, source: S| at(&ctx, Limits::at_least(low), Some(source));
    "no_limits" (unit: Text) -> Limits "Recorded and not judged, in this unit." =>
        |ctx: C, unit: S| unit.parse::<Unit>().map(Limits::unlimited).map_err(|error| script_error_at(&ctx, error));
    "expecting" (limits: Limits, value: Quantity) -> Limits "The same limits with the value that is expected: a slipped decimal point shows." =>
        |ctx: C, limits: &mut Limits, value: Q| -> ScriptResult<Limits> {
            if value.dimension() != limits.unit.dimension() || !limits.hold(value) {
                return Err(script_error_at(&ctx, format!("{value} can't be expected within the limits {limits}")));
            }
            Ok(Limits { expected: Some(value), ..limits.clone() })
        };
    "shown_in" (limits: Limits, unit: Text) -> Limits "The same limits, in the unit that the meter will show: a bare number is in it." =>
        |ctx: C, limits: &mut Limits, unit: S| -> ScriptResult<Limits> {
            let unit: Unit = unit.parse().map_err(|error| script_error_at(&ctx, error))?;
            if unit.dimension() != limits.unit.dimension() {
                return Err(script_error_at(&ctx, format!("the limits {limits} can't be shown in {unit}")));
            }
            Ok(Limits { unit, ..limits.clone() })
        };
    "ends" (one: Quantity, other: Quantity) -> Ends "Where a sweep begins and ends, in either direction; each end may be off by a tenth of the way." =>
        |ctx: C, one: Q, other: Q| ends(&ctx, one, other, None, None);
    "ends" (one: Quantity, other: Quantity, tolerance: Quantity) -> Ends "Where a sweep begins and ends, and how far off either end may be." =>
        |ctx: C, one: Q, other: Q, tolerance: Q| ends(&ctx, one, other, Some(tolerance), None);
    "ends" (one: Quantity, other: Quantity, tolerance: Quantity, source: Text) -> Ends "Where a sweep begins and ends, how far off either end may be, and where that comes from." =>
        |ctx: C, one: Q, other: Q, tolerance: Q, source: S| ends(&ctx, one, other, Some(tolerance), Some(source));
    "across" (red: Text, black: Text) -> Leads "Red and black lead: roles or points of the circuit, or plain text where there is none." =>
        |ctx: C, red: S, black: S| across(&ctx, &red, &black);
    "through" (at: Text) -> Leads "Where the circuit is opened for the ammeter." =>
        |ctx: C, place: S| through(&ctx, &place);
    "clamp" (at: Text) -> Leads "The wire that the current clamp goes around; it stays whole." =>
        |ctx: C, place: S| clamp(&ctx, &place);
    "moving" (part: Text) -> Moving "The part that you move meanwhile." => |part: S| Moving(part);
    "near" (zone: Text) -> Near "Where the body is. The zones that come with the program: `airbag`, `battery`, `belts`, `coolant`, `driveline`, `exhaust`, `fuel`, `high_voltage`, `hot_lamp`, `lift`, `meter_in_line`, `powered_part`, `stored_energy`, `unfused_stud`; a shop's own cautions may add others." => |a: S| Near(vec![a.into()]);
    "near" (zone: Text, zone: Text) -> Near "Where the body is." =>
        |a: S, b: S| Near(vec![a.into(), b.into()]);
    "near" (zone: Text, zone: Text, zone: Text) -> Near "Where the body is." =>
        |a: S, b: S, c: S| Near(vec![a.into(), b.into(), c.into()]);
    "near" (zone: Text, zone: Text, zone: Text, zone: Text) -> Near "Where the body is." =>
        |a: S, b: S, c: S, d: S| Near(vec![a.into(), b.into(), c.into(), d.into()]);
}

/// What goes into a prompt besides its words.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    module.set_custom_type::<Limits>("Limits");
    module.set_custom_type::<Leads>("Leads");
    module.set_custom_type::<Ends>("Ends");
    module.set_custom_type::<Methods>("Methods");
    module.set_custom_type::<Near>("Near");
    module.set_custom_type::<Moving>("Moving");
    register(&mut module, wanted);
    for name in ["to_string", "to_debug"] {
        FuncRegistration::new(name)
            .in_global_namespace()
            .set_into_module(&mut module, |limits: &mut Limits| ImmutableString::from(limits.to_string()));
    }
    // A bare number as a limit is the mistake that everybody makes first.
    for_numbers(&mut module, "at_most");
    for_numbers(&mut module, "at_least");
    module
}

fn for_numbers(module: &mut Module, name: &'static str) {
    let refuse = move |ctx: &NativeCallContext, number: f64| -> ScriptResult<Limits> {
        Err(script_error_at(
            ctx,
            format!("`{name}({number})` needs a unit: write {number}.V, {number}.ohm or what it is"),
        ))
    };
    FuncRegistration::new(name)
        .in_global_namespace()
        .set_into_module(module, move |ctx: NativeCallContext, number: FLOAT| refuse(&ctx, number));
    FuncRegistration::new(name)
        .in_global_namespace()
        .set_into_module(module, move |ctx: NativeCallContext, number: INT| refuse(&ctx, number as f64));
}
