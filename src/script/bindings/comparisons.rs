//! Comparisons: unlike things are an error at that place, never the engine's silent false.

use super::super::context::{ScriptResult, error_at};
use super::answers::{Chosen, Confirmed, LowestHighest, Reading, Swept, Written};
use super::limits::{Methods, Moving, Near};
use crate::model::limits::Limits;
use crate::model::prompt::{Ends, Leads};
use crate::model::quantity::Quantity;
use crate::script::type_name::TypeName;
use crate::script::wanted::Wanted;
use rhai::{Array, Dynamic, FLOAT, FnPtr, FuncRegistration, INT, ImmutableString, Map, Module, NativeCallContext};
use std::cmp::Ordering;

type Holds = fn(Ordering) -> bool;

const OPERATORS: [(&str, Holds); 6] = [
    ("<", Ordering::is_lt),
    ("<=", Ordering::is_le),
    (">", Ordering::is_gt),
    (">=", Ordering::is_ge),
    ("==", Ordering::is_eq),
    ("!=", Ordering::is_ne),
];

fn describe(value: &Dynamic) -> String {
    if let Some(quantity) = value.clone().try_cast::<Quantity>() {
        return quantity.to_string();
    }
    match value.type_name() {
        "()" => "nothing".to_owned(),
        "string" => format!("the text \"{value}\""),
        "i64" | "f64" => format!("the bare number {value}"),
        "bool" => format!("{value}"),
        "array" => "a list".to_owned(),
        "map" => "a map".to_owned(),
        name => TypeName::of(name).to_string(),
    }
}

fn unlike(ctx: &NativeCallContext, left: &Dynamic, right: &Dynamic) -> Box<rhai::EvalAltResult> {
    let bare = |value: &Dynamic| value.is_int() || value.is_float();
    let quantity = |value: &Dynamic| value.is::<Quantity>() || value.is::<Reading>();
    let is = |kind: fn(&Dynamic) -> bool| kind(left) || kind(right);
    let hint = if is(Dynamic::is::<Confirmed>) {
        ": write `.yes` or `.no`"
    } else if is(Dynamic::is::<Chosen>) {
        ": compare it with one of its texts"
    } else if (bare(left) && quantity(right)) || (quantity(left) && bare(right)) {
        ": give the number a unit"
    } else {
        ""
    };
    error_at(ctx, format!("can't compare {} with {}{hint}", describe(left), describe(right)))
}

/// The engine's own kinds of value: between two unlike ones of these it would compare by itself, and find a silent false.
macro_rules! unlike_pairs {
    ($module:ident, $operator:ident; $($left:ty => $($right:ty),+;)+) => {$($(
        FuncRegistration::new($operator).in_global_namespace().set_into_module(
            &mut $module,
            |ctx: NativeCallContext, left: $left, right: $right| -> ScriptResult<bool> {
                Err(unlike(&ctx, &Dynamic::from(left), &Dynamic::from(right)))
            },
        );
    )+)+};
}

/// Numbers of which one has a point: what is no number compares with nothing.
macro_rules! numbers {
    ($module:ident, $operator:ident, $holds:ident; $($left:ty => $($right:ty),+;)+) => {$($(
        FuncRegistration::new($operator).in_global_namespace().set_into_module(
            &mut $module,
            move |ctx: NativeCallContext, left: $left, right: $right| -> ScriptResult<bool> {
                match (left as FLOAT).partial_cmp(&(right as FLOAT)) {
                    Some(order) => Ok($holds(order)),
                    None => Err(error_at(&ctx, format!("can't compare {left} with {right}: one of them is not a number"))),
                }
            },
        );
    )+)+};
}

/// What the engine does not know with anything, on either side; what has a comparison of its own keeps it.
macro_rules! with_anything {
    ($module:ident, $operator:ident; $($kind:ty),+) => {$(
        unlike_pairs! { $module, $operator;
            $kind => Dynamic;
            Dynamic => $kind;
        }
    )+};
}

/// Every comparison that the language has beyond numbers with numbers and text with text.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    for (operator, holds) in OPERATORS.into_iter().filter(|(operator, _)| *operator == "==" || wanted.has(operator)) {
        FuncRegistration::new(operator).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, left: Quantity, right: Quantity| -> ScriptResult<bool> {
                left.compare(right).map(holds).map_err(|error| error_at(&ctx, error))
            },
        );
        FuncRegistration::new(operator).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, left: Reading, right: Quantity| -> ScriptResult<bool> {
                left.value(&ctx)?.compare(right).map(holds).map_err(|error| error_at(&ctx, error))
            },
        );
        FuncRegistration::new(operator).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, left: Quantity, right: Reading| -> ScriptResult<bool> {
                left.compare(right.value(&ctx)?).map(holds).map_err(|error| error_at(&ctx, error))
            },
        );
        FuncRegistration::new(operator).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, left: Reading, right: Reading| -> ScriptResult<bool> {
                left.value(&ctx)?.compare(right.value(&ctx)?).map(holds).map_err(|error| error_at(&ctx, error))
            },
        );
        // What is no number is neither more nor less than another, and not unlike it either.
        numbers! { module, operator, holds; FLOAT => FLOAT, INT; INT => FLOAT; }
        // A whole number with one with a point, and a letter with a text, are like enough.
        unlike_pairs! { module, operator;
            () => (), INT, FLOAT, bool, char, ImmutableString, Array, Map, FnPtr;
            INT => (), bool, char, ImmutableString, Array, Map, FnPtr;
            FLOAT => (), bool, char, ImmutableString, Array, Map, FnPtr;
            bool => (), INT, FLOAT, char, ImmutableString, Array, Map, FnPtr;
            char => (), INT, FLOAT, bool, Array, Map, FnPtr;
            ImmutableString => (), INT, FLOAT, bool, Array, Map, FnPtr;
            Array => (), INT, FLOAT, bool, char, ImmutableString, Map, FnPtr;
            Map => (), INT, FLOAT, bool, char, ImmutableString, Array, FnPtr;
            FnPtr => (), INT, FLOAT, bool, char, ImmutableString, Array, Map;
        }
        with_anything! { module, operator;
            Quantity, Reading, Swept, LowestHighest, Confirmed, Chosen, Written, Limits, Ends, Leads, Near, Methods, Moving
        }
    }
    for (operator, equal) in [("==", true), ("!=", false)] {
        FuncRegistration::new(operator).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, left: Chosen, right: ImmutableString| -> ScriptResult<bool> {
                left.is(&ctx, &right).map(|same| same == equal)
            },
        );
        FuncRegistration::new(operator).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, left: ImmutableString, right: Chosen| -> ScriptResult<bool> {
                right.is(&ctx, &left).map(|same| same == equal)
            },
        );
    }
    module
}
