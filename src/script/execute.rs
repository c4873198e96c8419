//! Running a procedure in a session.

use super::context::{Context, Handle, Stopped};
use super::diagnose;
use super::procedure::{AFTER_REPAIR, Procedure};
use super::work::Done;
use crate::model::diagnostic::{Diagnostic, Place};
use crate::model::ending::Ending;
use crate::model::event::{Entry, NamedCause};
use crate::model::points::Points;
use crate::model::started::Started;
use crate::run::asked_about::AskedAbout;
use crate::run::session::Session;
use crate::run::stop::Stop;
use rhai::{CallFnOptions, Dynamic, EvalAltResult, Scope};
use std::sync::Arc;

/// How a run came out.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// It named its cause, or several.
    Concluded(Vec<NamedCause>),
    /// It ended without one.
    Ended(Ending),
    /// Nobody answers.
    Waiting {
        /// The prompt or action.
        prompt: String,
        /// Its words.
        text: String,
        /// What was wrong with the answer, where there was one.
        problem: Option<String>,
    },
    /// A person put it down.
    Paused,
    /// The script asks something else than the journal answers.
    Diverged {
        /// Line of the journal.
        line: usize,
        /// What was recorded.
        recorded: String,
        /// What the script does now.
        attempted: String,
    },
    /// The script has an error.
    Failed(Box<Diagnostic>),
    /// The journal can't be written.
    Journal(String),
}

/// Which part of a procedure is run.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum EntryPoint {
    /// The script from top to bottom.
    Body,
    /// The function for after the repair.
    AfterRepair,
}

impl EntryPoint {
    /// Where a recorded run was begun.
    pub fn of(started: &Started) -> Self {
        if started.entry_point().is_some() { Self::AfterRepair } else { Self::Body }
    }

    /// Written into the start of a run.
    pub fn put_into(self, started: &mut Started) {
        if let Some(run) = started.procedure_mut() {
            run.entry_point = match self {
                Self::Body => None,
                Self::AfterRepair => Some(AFTER_REPAIR.to_owned()),
            };
        }
    }
}

/// What is left when a run is over.
pub struct Finished {
    /// How it came out.
    pub outcome: Outcome,
    /// What was recorded.
    pub entries: Vec<Entry>,
    /// Where in the script it stopped, if it did before its end.
    pub place: Option<Place>,
    /// The answers that the script asked about, up to its end.
    pub asked_about: AskedAbout,
}

/// Runs a procedure until it ends, waits or is put down. Taking an answer back runs it again from the top.
pub fn execute(
    procedure: &Procedure,
    entry_point: EntryPoint,
    mut session: Session,
    points: Option<Arc<Points>>,
) -> Finished {
    session.allow_events(procedure.header.events as usize);
    if let Some(points) = &points {
        session.asks(Arc::clone(points));
    }
    let context = Arc::new(Context::new(session, points));
    let mut engine = procedure.engine();
    engine.set_default_tag(Dynamic::from(Handle(Arc::clone(&context), Done::of(&engine))));
    for print in [true, false] {
        let context = Arc::clone(&context);
        let remark = move |text: &str| {
            if let Ok(mut session) = context.session.lock() {
                session.remark(text);
            }
        };
        if print {
            engine.on_print(remark);
        } else {
            engine.on_debug(move |text, _, _| remark(text));
        }
    }
    let mut place = None;
    let outcome = loop {
        let result = match entry_point {
            EntryPoint::Body => engine.run_ast(&procedure.ast),
            EntryPoint::AfterRepair => {
                let options = CallFnOptions::new().eval_ast(false).rewind_scope(true);
                engine
                    .call_fn_with_options::<Dynamic>(options, &mut Scope::new(), &procedure.ast, AFTER_REPAIR, ())
                    .map(|_| ())
            }
        };
        // A function of the engine's may have dropped the error on its way: a stop is a stop.
        let stopped = context.take_stop();
        let result = match (result, stopped) {
            (Err(error), _) if stop_of(&error).is_some() => Err(error),
            (_, Some(stopped)) => Err(stopped.into_error()),
            (result, None) => result,
        };
        let Ok(mut session) = context.session.lock() else {
            break Outcome::Journal("the session was left locked".to_owned());
        };
        match result {
            Ok(()) => match session.end(Ending::Unconcluded) {
                // At what was left to do.
                Stop::TakenBack => session.rewind(),
                stop => break of_stop(stop),
            },
            Err(error) => match stop_of(&error) {
                Some(Stop::TakenBack) => session.rewind(),
                Some(stop) if !matches!(stop, Stop::ScriptError(_)) => {
                    place = diagnose::of_run(&procedure.source, |name| procedure.library(name), &error).place;
                    break of_stop(stop);
                }
                _ => {
                    let diagnostic = diagnose::of_run(&procedure.source, |name| procedure.library(name), &error);
                    let mut message = diagnostic.title.clone();
                    if let (Some(place), Some(line)) = (&diagnostic.place, diagnostic.line()) {
                        message = format!("{}:{line}: {message}", place.file);
                    }
                    break match session.end(Ending::Failed { message }) {
                        Stop::Journal(problem) => Outcome::Journal(problem),
                        _ => Outcome::Failed(Box::new(diagnostic)),
                    };
                }
            },
        }
    };
    let left =
        context.session.lock().map(|mut session| (session.take_entries(), std::mem::take(&mut session.asked_about)));
    let (entries, asked_about) = left.unwrap_or_default();
    Finished { outcome, entries, place, asked_about }
}

fn stop_of(error: &EvalAltResult) -> Option<Stop> {
    let mut inner = error;
    while let EvalAltResult::ErrorInFunctionCall(_, _, nested, _) = inner {
        inner = nested;
    }
    match inner {
        EvalAltResult::ErrorTerminated(value, _) => value.clone().try_cast::<Stopped>().map(|stopped| stopped.stop),
        _ => None,
    }
}

fn of_stop(stop: Stop) -> Outcome {
    match stop {
        Stop::Concluded(causes) => Outcome::Concluded(causes),
        Stop::Ended(ending) => Outcome::Ended(ending),
        Stop::Waiting { prompt, text, problem } => Outcome::Waiting { prompt, text, problem },
        Stop::Paused => Outcome::Paused,
        Stop::Diverged { line, recorded, attempted } => Outcome::Diverged { line, recorded, attempted },
        Stop::Journal(problem) => Outcome::Journal(problem),
        Stop::LeftOpen => Outcome::Paused,
        Stop::TakenBack => Outcome::Journal("an answer was taken back outside of a run".to_owned()),
        Stop::ScriptError(misuse) => Outcome::Journal(misuse.to_string()),
    }
}
