//! What the script's functions find behind them: the session and the circuit's names.

use crate::model::points::Points;
use crate::run::session::Session;
use crate::run::stop::{Misuse, Stop};
use rhai::{Dynamic, EvalAltResult, NativeCallContext, Position};
use std::sync::{Arc, Mutex};

/// Result of a function called by a script.
pub type ScriptResult<T> = Result<T, Box<EvalAltResult>>;

/// One run, as the script's functions see it.
pub struct Context {
    /// The session.
    pub session: Mutex<Session>,
    /// The circuit's names, where there is a circuit.
    pub points: Option<Arc<Points>>,
}

/// The handle that travels in the engine's tag.
#[derive(Clone)]
pub struct Handle(pub Arc<Context>);

/// A stop on its way through the script, with its place.
#[derive(Clone, Debug)]
pub struct Stopped {
    /// Why.
    pub stop: Stop,
    /// The library file in which it happened; `None` in the procedure itself.
    pub library: Option<String>,
    /// Where: on its way out, the engine moves the error's own position to the outermost call.
    pub position: Position,
}

/// An error in words at the place of the call. A script may catch it.
pub fn error_at(ctx: &NativeCallContext, words: impl ToString) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(Dynamic::from(words.to_string()), ctx.call_position()).into()
}

/// A stop at the place of the call. No script can catch it.
pub fn stop_at(ctx: &NativeCallContext, stop: Stop) -> Box<EvalAltResult> {
    let library = ctx.call_source().map(str::to_owned).filter(|name| !name.is_empty());
    let position = ctx.call_position();
    EvalAltResult::ErrorTerminated(Dynamic::from(Stopped { stop, library, position }), position).into()
}

/// A misuse at the place of the call.
pub fn misuse_at(ctx: &NativeCallContext, words: impl ToString) -> Box<EvalAltResult> {
    stop_at(ctx, Stop::Misuse(Misuse::Text(words.to_string())))
}

/// The run behind a call.
pub fn context(ctx: &NativeCallContext) -> ScriptResult<Arc<Context>> {
    ctx.tag()
        .and_then(|tag| tag.read_lock::<Handle>().map(|handle| Arc::clone(&handle.0)))
        .ok_or_else(|| error_at(ctx, "this needs a run: load a procedure first"))
}

/// Calls the session; a stop becomes an error that no script can catch.
pub fn with_session<T>(ctx: &NativeCallContext, call: impl FnOnce(&mut Session) -> Result<T, Stop>) -> ScriptResult<T> {
    let context = context(ctx)?;
    let mut session = context.session.lock().map_err(|_| misuse_at(ctx, "the session was left locked"))?;
    let result = call(&mut session);
    drop(session);
    result.map_err(|stop| stop_at(ctx, stop))
}
