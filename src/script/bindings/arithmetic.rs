//! Arithmetic that carries the dimension and refuses nonsense.

use super::super::context::{ScriptResult, error_at};
use crate::model::quantity::{Quantity, QuantityError};
use crate::script::function_doc::{FunctionDoc, Kind};
use rhai::{Dynamic, FLOAT, FuncRegistration, INT, ImmutableString, Module, NativeCallContext};

fn at(ctx: &NativeCallContext, result: Result<Quantity, QuantityError>) -> ScriptResult<Quantity> {
    result.map_err(|error| error_at(ctx, error))
}

macro_rules! operators {
    ($module:ident; $($symbol:literal ($left:ty, $right:ty) => $call:expr;)+) => {$(
        FuncRegistration::new($symbol).in_global_namespace().set_into_module(
            &mut $module,
            |ctx: NativeCallContext, left: $left, right: $right| -> ScriptResult<Quantity> {
                let call: fn($left, $right) -> Result<Quantity, QuantityError> = $call;
                at(&ctx, call(left, right))
            },
        );
    )+};
}

fn one_over(number: f64, quantity: Quantity) -> Result<Quantity, QuantityError> {
    Quantity::ratio(number).over(quantity)
}

fn divided(quantity: Quantity, number: f64) -> Result<Quantity, QuantityError> {
    quantity.over(Quantity::ratio(number))
}

fn bare(verb: &'static str, quantity: Quantity, number: f64) -> Result<Quantity, QuantityError> {
    Err(QuantityError::Bare { verb, quantity, number })
}

/// Seven halves are three and a half, for a technician as on any calculator; only what comes out even stays a whole number,
/// so that a count can still be one.
fn quotient(ctx: NativeCallContext, one: INT, other: INT) -> ScriptResult<Dynamic> {
    match one.checked_rem(other) {
        Some(0) => Ok(Dynamic::from_int(one / other)),
        Some(_) => Ok(Dynamic::from_float(one as FLOAT / other as FLOAT)),
        None if other == 0 => Err(error_at(&ctx, format!("{one} can't be divided by zero"))),
        // The smallest whole number by minus one is beyond the largest.
        None => Ok(Dynamic::from_float(-(one as FLOAT))),
    }
}

/// A quotient of numbers with a point; without end or no number at all, it would decide about limits further on in silence.
fn share(ctx: &NativeCallContext, one: FLOAT, other: FLOAT) -> ScriptResult<FLOAT> {
    let share = one / other;
    if share.is_finite() { Ok(share) } else { Err(error_at(ctx, format!("{one} can't be divided by {other}"))) }
}

/// The help texts of the functions here.
pub const FUNCTION_DOCS: &[FunctionDoc] = &[
    FunctionDoc::function("abs", &[("quantity", Kind::Quantity)], Kind::Quantity, "A quantity without its sign."),
    FunctionDoc::function("min", &TWO, Kind::Quantity, "The smaller of two quantities of one kind."),
    FunctionDoc::function("max", &TWO, Kind::Quantity, "The larger of two quantities of one kind."),
];
const TWO: [(&str, Kind); 2] = [("one", Kind::Quantity), ("other", Kind::Quantity)];

/// The operators and the few functions that work on quantities.
pub fn module() -> Module {
    let mut module = Module::new();
    operators! { module;
        "+" (Quantity, Quantity) => Quantity::plus;
        "-" (Quantity, Quantity) => Quantity::minus;
        "*" (Quantity, Quantity) => Quantity::times;
        "/" (Quantity, Quantity) => Quantity::over;
        "*" (Quantity, FLOAT) => Quantity::scaled;
        "*" (Quantity, INT) => |quantity, number| quantity.scaled(number as f64);
        "*" (FLOAT, Quantity) => |number, quantity| quantity.scaled(number);
        "*" (INT, Quantity) => |number, quantity| quantity.scaled(number as f64);
        "/" (Quantity, FLOAT) => divided;
        "/" (Quantity, INT) => |quantity, number| divided(quantity, number as f64);
        "/" (FLOAT, Quantity) => one_over;
        "/" (INT, Quantity) => |number, quantity| one_over(number as f64, quantity);
        "+" (Quantity, FLOAT) => |quantity, number| bare("add", quantity, number);
        "+" (Quantity, INT) => |quantity, number| bare("add", quantity, number as f64);
        "+" (FLOAT, Quantity) => |number, quantity| bare("add", quantity, number);
        "+" (INT, Quantity) => |number, quantity| bare("add", quantity, number as f64);
        "-" (Quantity, FLOAT) => |quantity, number| bare("subtract", quantity, number);
        "-" (Quantity, INT) => |quantity, number| bare("subtract", quantity, number as f64);
        "-" (FLOAT, Quantity) => |number, quantity| bare("subtract", quantity, number);
        "-" (INT, Quantity) => |number, quantity| bare("subtract", quantity, number as f64);
    }
    FuncRegistration::new("/").in_global_namespace().set_into_module(&mut module, quotient);
    FuncRegistration::new("/")
        .in_global_namespace()
        .set_into_module(&mut module, |ctx: NativeCallContext, one: FLOAT, other: FLOAT| share(&ctx, one, other));
    FuncRegistration::new("/")
        .in_global_namespace()
        .set_into_module(&mut module, |ctx: NativeCallContext, one: FLOAT, other: INT| {
            share(&ctx, one, other as FLOAT)
        });
    FuncRegistration::new("/")
        .in_global_namespace()
        .set_into_module(&mut module, |ctx: NativeCallContext, one: INT, other: FLOAT| {
            share(&ctx, one as FLOAT, other)
        });
    FuncRegistration::new("-").in_global_namespace().set_into_module(&mut module, Quantity::negated);
    FuncRegistration::new("+").in_global_namespace().set_into_module(&mut module, |quantity: Quantity| quantity);
    FuncRegistration::new("abs").in_global_namespace().set_into_module(&mut module, Quantity::absolute_value);
    for (name, wants_less) in [("min", true), ("max", false)] {
        FuncRegistration::new(name).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, one: Quantity, other: Quantity| -> ScriptResult<Quantity> {
                let order = one.compare(other).map_err(|error| error_at(&ctx, error))?;
                Ok(if order.is_lt() == wants_less { one } else { other })
            },
        );
    }
    for name in ["to_string", "to_debug"] {
        FuncRegistration::new(name)
            .in_global_namespace()
            .set_into_module(&mut module, |quantity: &mut Quantity| ImmutableString::from(quantity.to_string()));
    }
    module
}
