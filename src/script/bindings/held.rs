//! `curry`: a function that holds some of its arguments. The engine's own counts nothing of what is held.

use super::super::context::ScriptResult;
use crate::script::wanted::Wanted;
use crate::script::work::{CURRY, Halt, held_by};
use rhai::{Dynamic, FnPtr, FuncRegistration, Module, NativeCallContext};

type D = Dynamic;

fn holding<const N: usize>(ctx: &NativeCallContext, mut function: FnPtr, more: [D; N]) -> ScriptResult<FnPtr> {
    for value in more {
        function.add_curry(value);
    }
    match held_by(&function) {
        Some(_) => Ok(function),
        None => Err(Halt::HoldsTooMuch.into_error(ctx.call_position())),
    }
}

macro_rules! curry {
    ($module:ident; $(($($value:ident),+))+) => {$(
        FuncRegistration::new(CURRY).in_global_namespace().set_into_module(
            &mut $module,
            |ctx: NativeCallContext, function: FnPtr, $($value: D),+| holding(&ctx, function, [$($value),+]),
        );
    )+};
}

/// `curry` with one to six values.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    if wanted.has("curry") {
        curry! { module; (a) (a, b) (a, b, c) (a, b, c, d) (a, b, c, d, e) (a, b, c, d, e, f) }
    }
    module
}
