//! Putting lists in order and taking doubles out: what goes wrong between two of them stops the script, where the engine's
//! own would go on in silence, with any order that comes of it.

use super::super::context::{ScriptResult, error_at};
use crate::script::type_name::TypeName;
use crate::script::wanted::Wanted;
use rhai::{Array, Dynamic, FnPtr, FuncRegistration, Module, NativeCallContext};
use std::cmp::Ordering;

/// What a function says of two values: a whole number below, at or above zero, or whether the first comes first.
fn order_by(ctx: &NativeCallContext, comparer: &FnPtr, one: &Dynamic, other: &Dynamic) -> ScriptResult<Ordering> {
    let said = comparer.call_raw(ctx, None, [one.clone(), other.clone()])?;
    if let Ok(number) = said.as_int() {
        return Ok(number.cmp(&0));
    }
    match said.as_bool() {
        Ok(true) => Ok(Ordering::Less),
        Ok(false) => Ok(Ordering::Greater),
        Err(_) => {
            let kind = TypeName::of(said.type_name());
            Err(error_at(ctx, format!("what puts a list in order says yes or no, or a whole number, not {kind}")))
        }
    }
}

/// In order by insertion: it keeps to its place whatever the function says, and a list of a procedure is short. Every
/// comparison counts as work of the script, so a long one comes to its limit like any other loop.
fn sorted(ctx: &NativeCallContext, list: &Array, comparer: &FnPtr) -> ScriptResult<Array> {
    let mut sorted = Array::with_capacity(list.len());
    for value in list {
        let (mut from, mut to) = (0, sorted.len());
        while from < to {
            let middle = from + (to - from) / 2;
            // Behind those that are alike, so that they keep their order.
            if order_by(ctx, comparer, &sorted[middle], value)?.is_gt() {
                to = middle;
            } else {
                from = middle + 1;
            }
        }
        sorted.insert(from, value.clone());
    }
    Ok(sorted)
}

fn without_doubles(
    list: &mut Array,
    mut alike: impl FnMut(&Dynamic, &Dynamic) -> ScriptResult<bool>,
) -> ScriptResult<()> {
    let mut kept = Array::with_capacity(list.len());
    for value in list.iter() {
        let double = match kept.last() {
            Some(last) => alike(last, value)?,
            None => false,
        };
        if !double {
            kept.push(value.clone());
        }
    }
    *list = kept;
    Ok(())
}

/// The functions of lists that compare.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    for name in ["sort", "sort_by"].into_iter().filter(|name| wanted.has(name)) {
        FuncRegistration::new(name).in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, list: &mut Array, comparer: FnPtr| -> ScriptResult<()> {
                *list = sorted(&ctx, list, &comparer)?;
                Ok(())
            },
        );
    }
    for name in ["order", "order_by"].into_iter().filter(|name| wanted.has(name)) {
        FuncRegistration::new(name).in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, list: &mut Array, comparer: FnPtr| -> ScriptResult<Array> {
                sorted(&ctx, list, &comparer)
            },
        );
    }
    if wanted.has("dedup") {
        FuncRegistration::new("dedup").in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, list: &mut Array| -> ScriptResult<()> {
                without_doubles(list, |one, other| ctx.call_native_fn("==", (one.clone(), other.clone())))
            },
        );
        FuncRegistration::new("dedup").in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, list: &mut Array, comparer: FnPtr| -> ScriptResult<()> {
                without_doubles(list, |one, other| {
                    let said = comparer.call_raw(&ctx, None, [one.clone(), other.clone()])?;
                    said.as_bool().map_err(|kind| {
                        error_at(&ctx, format!("what finds doubles says yes or no, not {}", TypeName::of(kind)))
                    })
                })
            },
        );
    }
    module
}
