//! `replace` and `pad` in texts: the engine's own make the new text first, look at its length after, and count nothing.

use super::super::context::{ScriptResult, done};
use crate::script::wanted::Wanted;
use rhai::{EvalAltResult, FuncRegistration, INT, ImmutableString, Module, NativeCallContext};

fn replace(ctx: &NativeCallContext, text: &mut ImmutableString, old: &str, new: &str) -> ScriptResult<()> {
    // The engine leaves an empty text as it is.
    if text.is_empty() {
        return Ok(());
    }
    let times = text.matches(old).count();
    let length = text.len() - times * old.len() + times * new.len();
    fits(ctx, length)?;
    done(ctx).add_bytes(text.len().max(length));
    *text = text.replace(old, new).into();
    Ok(())
}

fn fits(ctx: &NativeCallContext, length: usize) -> ScriptResult<()> {
    if length <= ctx.engine().max_string_size() {
        return Ok(());
    }
    Err(EvalAltResult::ErrorDataTooLarge("Length of string".to_owned(), ctx.call_position()).into())
}

/// Fills a text up to so many letters; nothing to fill it with leaves it as it is.
fn pad(ctx: &NativeCallContext, text: &mut ImmutableString, letters: INT, with: &str) -> ScriptResult<()> {
    let letters = usize::try_from(letters).unwrap_or(0);
    fits(ctx, letters)?;
    let missing = letters.saturating_sub(text.chars().count());
    if missing == 0 || with.is_empty() {
        return Ok(());
    }
    let (times, rest) = (missing / with.chars().count(), missing % with.chars().count());
    let length = with.len() * (times + usize::from(rest > 0));
    fits(ctx, length)?;
    done(ctx).add_bytes(text.len() + length);
    let mut filling = with.repeat(times);
    filling.extend(with.chars().take(rest));
    text.make_mut().push_str(&filling);
    Ok(())
}

/// What makes long texts.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    if wanted.has("replace") {
        FuncRegistration::new("replace").in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, text: &mut ImmutableString, old: ImmutableString, new: ImmutableString| {
                replace(&ctx, text, &old, &new)
            },
        );
        FuncRegistration::new("replace").in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, text: &mut ImmutableString, old: char, new: ImmutableString| {
                replace(&ctx, text, old.encode_utf8(&mut [0; 4]), &new)
            },
        );
    }
    if wanted.has("pad") {
        FuncRegistration::new("pad").in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, text: &mut ImmutableString, letters: INT, with: ImmutableString| {
                pad(&ctx, text, letters, &with)
            },
        );
        FuncRegistration::new("pad").in_global_namespace().set_into_module(
            &mut module,
            |ctx: NativeCallContext, text: &mut ImmutableString, letters: INT, with: char| {
                pad(&ctx, text, letters, with.encode_utf8(&mut [0; 4]))
            },
        );
    }
    module
}
