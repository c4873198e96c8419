//! Steps, reasons and the end: a cause, or why there is none.

use super::super::context::{ScriptResult, script_error_at, stop_at, with_session};
use super::functions::functions;
use super::limits::Near;
use super::prompts::not_too_long;
use crate::model::job::Nominal;
use crate::model::quantity::Quantity;
use crate::run::session::Session;
use crate::script::type_name::TypeName;
use crate::script::wanted::Wanted;
use rhai::{Array, EvalAltResult, FLOAT, INT, ImmutableString, Module, NativeCallContext};

type C<'a> = NativeCallContext<'a>;
type S = ImmutableString;

fn step(ctx: &C, title: &str, near: &[String]) -> ScriptResult<()> {
    if title.trim_start().is_empty() {
        return Err(script_error_at(ctx, "a step needs a heading"));
    }
    not_too_long(ctx, "a step", title)?;
    with_session(ctx, |session| session.begin_step(title, near))
}

fn conclude(ctx: &C, causes: &[String]) -> Box<EvalAltResult> {
    let stop = with_session(ctx, |session: &mut Session| Ok(session.conclude(causes)));
    match stop {
        Ok(stop) => stop_at(ctx, stop),
        Err(error) => error,
    }
}

fn unfinished(ctx: &C, reason: &str) -> Box<EvalAltResult> {
    if reason.trim().is_empty() {
        return script_error_at(ctx, "say why the run can't be finished: `unfinished(\"the pin can't be reached\")`");
    }
    if let Err(error) = not_too_long(ctx, "a reason", reason) {
        return error;
    }
    match with_session(ctx, |session: &mut Session| Ok(session.unfinished(reason.trim()))) {
        Ok(stop) => stop_at(ctx, stop),
        Err(error) => error,
    }
}

fn nominal(ctx: &C) -> ScriptResult<Quantity> {
    let known = with_session(ctx, |session| Ok(session.nominal()))?;
    known.ok_or_else(|| {
        script_error_at(
            ctx,
            "nobody said the system's nominal voltage: ask for it, and say it with `nominal_volts(24.V)`",
        )
    })
}

fn say_nominal(ctx: &C, volts: Quantity) -> ScriptResult<()> {
    if Nominal::of(volts).is_none() {
        return Err(script_error_at(ctx, format!("a system has 12 V or 24 V, not {volts}")));
    }
    with_session(ctx, |session| {
        session.say_nominal(volts);
        Ok(())
    })
}

functions! { volatile: true;
    "step" (title: Text) "A heading." => |ctx: C, title: S| step(&ctx, &title, &[]);
    "step" (title: Text, near: Near) "A heading, and where the technician will be." => |ctx: C, title: S, near: Near| step(&ctx, &title, &near.0);
    "why" (text: Text) "Why this step is there: shown on request." => |ctx: C, text: S| -> ScriptResult<()> {
        not_too_long(&ctx, "a reason", &text)?;
        with_session(&ctx, |session| { session.why(&text); Ok(()) }) };
    "conclude" (cause: Text) "Name the cause. The run ends here." => |ctx: C, cause: S| -> ScriptResult<()> { Err(conclude(&ctx, &[cause.to_string()])) };
    "conclude" (causes: List) "Name several causes that the evidence can't part. The run ends here." => |ctx: C, causes: Array| -> ScriptResult<()> {
        let mut ids = Vec::with_capacity(causes.len());
        for cause in causes {
            ids.push(cause.into_immutable_string().map_err(|kind| script_error_at(&ctx, format!("a cause is named by a text, not {}", TypeName::of(kind))))?.to_string());
        }
        Err(conclude(&ctx, &ids)) };
    "unfinished" (reason: Text) "The procedure can't go on: the run ends here without a cause, and the record says why." => |ctx: C, reason: S| -> ScriptResult<()> { Err(unfinished(&ctx, &reason)) };
    "nominal_is_known" () -> TrueOrFalse "Whether the job says the system's nominal voltage, or the script said it." => |ctx: C| with_session(&ctx, |session| Ok(session.nominal().is_some()));
    "nominal_volts" () -> Quantity "The system's nominal voltage: 12 V or 24 V." => |ctx: C| nominal(&ctx);
    "nominal_volts" (volts: Quantity) "Says the system's nominal voltage for the rest of the run, where the job does not." => |ctx: C, volts: Quantity| say_nominal(&ctx, volts);
    "sleep" (seconds: Number) "Not in this language: use `wait(30.s)`." => |ctx: C, _seconds: FLOAT| -> ScriptResult<()> {
        Err(script_error_at(&ctx, "nothing sleeps in a procedure: write `wait(30.s)`, so that the technician knows")) };
    "sleep" (seconds: Number) "Not in this language: use `wait(30.s)`." => |ctx: C, _seconds: INT| -> ScriptResult<()> {
        Err(script_error_at(&ctx, "nothing sleeps in a procedure: write `wait(30.s)`, so that the technician knows")) };
}

/// Steps, reasons and the end; and in place of the engine's `sleep`, an error.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    register(&mut module, wanted);
    module
}
