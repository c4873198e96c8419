//! Comparisons: unlike things are an error at that place, never the engine's silent false.

use super::super::context::{ScriptResult, error_at};
use super::answers::{Chosen, Confirmed, LowestHighest, Reading, Swept, Written};
use crate::model::quantity::Quantity;
use rhai::{Dynamic, FLOAT, FuncRegistration, INT, ImmutableString, Module, NativeCallContext};
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
        name => super::answers::in_words(name).to_owned(),
    }
}

fn unlike(ctx: &NativeCallContext, left: &Dynamic, right: &Dynamic) -> Box<rhai::EvalAltResult> {
    let bare = |value: &Dynamic| value.is_int() || value.is_float();
    let quantity = |value: &Dynamic| value.is::<Quantity>() || value.is::<Reading>();
    let hint = if (bare(left) && quantity(right)) || (quantity(left) && bare(right)) {
        ": give the number a unit"
    } else {
        ""
    };
    error_at(ctx, format!("can't compare {} with {}{hint}", describe(left), describe(right)))
}

macro_rules! unlike_pairs {
    ($module:ident, $operator:ident; $($left:ty, $right:ty;)+) => {$(
        FuncRegistration::new($operator).in_global_namespace().set_into_module(
            &mut $module,
            |ctx: NativeCallContext, left: $left, right: $right| -> ScriptResult<bool> {
                Err(unlike(&ctx, &Dynamic::from(left), &Dynamic::from(right)))
            },
        );
    )+};
}

/// Every comparison that the language has beyond numbers with numbers and text with text.
pub fn module() -> Module {
    let mut module = Module::new();
    for (operator, holds) in OPERATORS {
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
        unlike_pairs! { module, operator;
            Quantity, Dynamic;
            Dynamic, Quantity;
            Reading, Dynamic;
            Dynamic, Reading;
            Swept, Dynamic;
            Dynamic, Swept;
            LowestHighest, Dynamic;
            Dynamic, LowestHighest;
            Confirmed, Dynamic;
            Dynamic, Confirmed;
            Written, Dynamic;
            Dynamic, Written;
            Chosen, Dynamic;
            Dynamic, Chosen;
            (), ();
            (), INT;
            (), FLOAT;
            (), ImmutableString;
            (), bool;
            (), char;
            INT, ();
            FLOAT, ();
            ImmutableString, ();
            bool, ();
            char, ();
            ImmutableString, INT;
            ImmutableString, FLOAT;
            ImmutableString, bool;
            INT, ImmutableString;
            FLOAT, ImmutableString;
            bool, ImmutableString;
            bool, INT;
            bool, FLOAT;
            INT, bool;
            FLOAT, bool;
            char, INT;
            INT, char;
            (), rhai::Array;
            (), rhai::Map;
            rhai::Array, ();
            rhai::Map, ();
            ImmutableString, rhai::Array;
            rhai::Array, ImmutableString;
            INT, rhai::Array;
            rhai::Array, INT;
            FLOAT, rhai::Array;
            rhai::Array, FLOAT;
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
