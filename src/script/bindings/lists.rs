//! Filling lists, putting them in order and taking doubles out. What goes wrong between two of them stops the script,
//! where the engine's own would go on in silence, with any order that comes of it.

use super::super::context::{ScriptResult, done, error_at};
use crate::script::type_name::TypeName;
use crate::script::wanted::Wanted;
use crate::script::work::entries_inside;
use rhai::{Array, Dynamic, EvalAltResult, FnPtr, FuncRegistration, INT, Module, NativeCallContext};
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

/// Fills a list up to so many entries.
fn pad(ctx: &NativeCallContext, list: &mut Array, entries: INT, with: Dynamic) -> ScriptResult<()> {
    let missing = usize::try_from(entries).unwrap_or(0).saturating_sub(list.len());
    let more = missing.saturating_mul(1 + entries_inside(&with));
    if list.len().saturating_add(more) > ctx.engine().max_array_size() {
        let what = "Size of array/BLOB".to_owned();
        return Err(EvalAltResult::ErrorDataTooLarge(what, ctx.call_position()).into());
    }
    done(ctx).add_entries(more);
    list.resize(list.len() + missing, with);
    Ok(())
}

/// The functions of lists that compare or make long ones.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    if wanted.has("pad") {
        FuncRegistration::new("pad")
            .in_global_namespace()
            .set_into_module(&mut module, |ctx: NativeCallContext, list: &mut Array, entries: INT, with: Dynamic| {
                pad(&ctx, list, entries, with)
            });
    }
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
