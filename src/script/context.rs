//! What the script's functions find behind them: the session and the circuit's names.

use crate::model::points::Points;
use crate::run::session::Session;
use crate::run::stop::{ScriptError, Stop};
use crate::script::work::Done;
use rhai::{Dynamic, EvalAltResult, NativeCallContext, Position};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Result of a function called by a script.
pub type ScriptResult<T> = Result<T, Box<EvalAltResult>>;

/// One run, as the script's functions see it.
pub struct Context {
    /// The session.
    pub session: Mutex<Session>,
    /// The circuit's names, where there is a circuit.
    pub points: Option<Arc<Points>>,
    /// The first stop of this pass: whatever becomes of it in the script, the run goes no further.
    stopped: Mutex<Option<Stopped>>,
    /// Whether there is one: asked at every call.
    is_stopped: AtomicBool,
}

impl Context {
    /// Of a session that begins.
    pub fn new(session: Session, points: Option<Arc<Points>>) -> Self {
        Self { session: Mutex::new(session), points, stopped: Mutex::new(None), is_stopped: AtomicBool::new(false) }
    }

    /// The stop of the pass that is over; the next pass has none.
    pub fn take_stop(&self) -> Option<Stopped> {
        self.is_stopped.store(false, Ordering::Relaxed);
        self.stopped().take()
    }

    /// Keeps the first stop of a pass, and gives it.
    fn keep_stop(&self, stopped: Stopped) -> Stopped {
        self.is_stopped.store(true, Ordering::Relaxed);
        self.stopped().get_or_insert(stopped).clone()
    }

    /// The stop that was kept.
    fn kept_stop(&self) -> Option<Stopped> {
        if self.is_stopped.load(Ordering::Relaxed) { self.stopped().clone() } else { None }
    }

    fn stopped(&self) -> MutexGuard<'_, Option<Stopped>> {
        // It is set and taken in one go.
        self.stopped.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The handle that travels in the engine's tag.
#[derive(Clone)]
pub struct Handle(pub Arc<Context>, pub Done);

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

impl Stopped {
    /// As the error that no script can catch.
    pub fn into_error(self) -> Box<EvalAltResult> {
        let position = self.position;
        EvalAltResult::ErrorTerminated(Dynamic::from(self), position).into()
    }
}

/// An error in words at the place of the call. A script may catch it.
pub fn error_at(ctx: &NativeCallContext, words: impl ToString) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(Dynamic::from(words.to_string()), ctx.call_position()).into()
}

/// A stop at the place of the call. No script can catch it.
pub fn stop_at(ctx: &NativeCallContext, stop: Stop) -> Box<EvalAltResult> {
    let library = ctx.call_source().map(str::to_owned).filter(|name| !name.is_empty());
    let position = ctx.call_position();
    let mut stopped = Stopped { stop, library, position };
    if let Ok(context) = context(ctx) {
        stopped = context.keep_stop(stopped);
    }
    stopped.into_error()
}

/// A script_error at the place of the call.
pub fn script_error_at(ctx: &NativeCallContext, words: impl ToString) -> Box<EvalAltResult> {
    stop_at(ctx, Stop::ScriptError(ScriptError::Text(words.to_string())))
}

/// What the script of a call has done so far.
pub fn done(ctx: &NativeCallContext) -> Done {
    let Some(tag) = ctx.tag() else { return Done::default() };
    // At the prompt there is no run.
    let in_a_run = tag.read_lock::<Handle>().map(|handle| handle.1.clone());
    in_a_run.or_else(|| tag.read_lock::<Done>().map(|done| done.clone())).unwrap_or_default()
}

/// The run behind a call.
pub fn context(ctx: &NativeCallContext) -> ScriptResult<Arc<Context>> {
    ctx.tag()
        .and_then(|tag| tag.read_lock::<Handle>().map(|handle| Arc::clone(&handle.0)))
        .ok_or_else(|| needs_a_run(ctx))
}

fn needs_a_run(ctx: &NativeCallContext) -> Box<EvalAltResult> {
    error_at(ctx, "this needs a run: load a procedure first")
}

/// The behavior that the run is at; none at the prompt, where there is no run.
pub fn behavior_here(ctx: &NativeCallContext) -> Option<u32> {
    let handle = ctx.tag()?.read_lock::<Handle>()?;
    handle.0.session.lock().ok().map(|session| session.behavior_here())
}

/// Calls the session; a stop becomes an error that no script can catch.
pub fn with_session<T>(ctx: &NativeCallContext, call: impl FnOnce(&mut Session) -> Result<T, Stop>) -> ScriptResult<T> {
    // Borrowed, not taken along: this is asked at every call of a script.
    let handle = ctx.tag().and_then(|tag| tag.read_lock::<Handle>()).ok_or_else(|| needs_a_run(ctx))?;
    let context = &*handle.0;
    if let Some(stopped) = context.kept_stop() {
        return Err(stopped.into_error());
    }
    let mut session = context.session.lock().map_err(|_| script_error_at(ctx, "the session was left locked"))?;
    let result = call(&mut session);
    drop(session);
    result.map_err(|stop| stop_at(ctx, stop))
}
