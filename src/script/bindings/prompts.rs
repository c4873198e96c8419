//! Prompts: `read`, `read_diode`, `read_ac`, `sweep`, `module_shows`, `lowest_highest`, `ask`, `choose`, `note`.

use super::super::context::{ScriptResult, context, script_error_at, with_session};
use super::answers::{Chosen, Confirmed, LowestHighest, Reading, Swept, Written};
use super::functions::functions;
use super::limits::Moving;
use crate::model::dimension::Dimension;
use crate::model::limits::Limits;
use crate::model::meter::Function;
use crate::model::misfit::Misfit;
use crate::model::points::Points;
use crate::model::prompt::{Ends, Leads, Prompt, PromptId, Question};
use crate::run::meaning::Asked;
use crate::script::type_name::TypeName;
use crate::script::wanted::Wanted;
use rhai::{Array, ImmutableString, Module, NativeCallContext};
use std::sync::Arc;

type C<'a> = NativeCallContext<'a>;
type S = ImmutableString;

fn ask(ctx: &NativeCallContext, id: &str, text: &str, question: Question) -> ScriptResult<Asked> {
    if text.trim_start().is_empty() {
        return Err(script_error_at(ctx, format!("the prompt `{id}` has no words: say what to do")));
    }
    not_too_long(ctx, "a prompt", text)?;
    let prompt = Arc::new(Prompt { id: PromptId::new(id), text: text.to_owned(), question });
    with_session(ctx, |session| session.ask(prompt))
}

/// Whether leads that lie so can be read with this function: refused where it is asked for the first time.
fn fitting(ctx: &NativeCallContext, function: Function, leads: &Leads) -> ScriptResult<()> {
    let known = context(ctx)?;
    let Some(misfit) = Misfit::of(known.points.as_deref(), function, leads) else { return Ok(()) };
    refused_anew(ctx, &misfit)
}

/// A script_error that older records may have in them.
pub fn refused_anew(ctx: &NativeCallContext, script_error: &impl ToString) -> ScriptResult<()> {
    if with_session(ctx, |session| Ok(session.asks_anew()))? {
        Err(script_error_at(ctx, script_error.to_string()))
    } else {
        Ok(())
    }
}

/// Letters of a text that a procedure shows.
const LONGEST_TEXT: usize = 4_000;

/// Refuses a text that nobody would read, where it is shown for the first time.
pub fn not_too_long(ctx: &NativeCallContext, what: &str, text: &str) -> ScriptResult<()> {
    if text.len() <= LONGEST_TEXT {
        return Ok(());
    }
    let letters = text.chars().count();
    if letters <= LONGEST_TEXT {
        return Ok(());
    }
    refused_anew(ctx, &format!("the text of {what} has at most {LONGEST_TEXT} letters, and this one has {letters}"))
}

/// What the meter must be switched to for this dimension.
fn function_for(ctx: &NativeCallContext, dimension: Dimension) -> ScriptResult<Function> {
    Ok(match dimension {
        Dimension::VOLTAGE => Function::Volts,
        Dimension::CURRENT => Function::Amperes,
        Dimension::RESISTANCE => Function::Ohms,
        Dimension::FREQUENCY => Function::Hertz,
        Dimension::NONE => Function::Duty,
        Dimension::TEMPERATURE => Function::Temperature,
        Dimension::TIME => Function::Time,
        other => return Err(script_error_at(ctx, format!("no meter reads {other}"))),
    })
}

fn read(ctx: &C, id: &str, text: &str, limits: Limits, leads: Leads) -> ScriptResult<Reading> {
    let function = function_for(ctx, limits.unit.dimension())?;
    fitting(ctx, function, &leads)?;
    ask(ctx, id, text, Question::Reading { function, limits, leads }).map(Reading)
}

fn read_diode(ctx: &C, id: &str, text: &str, limits: Limits, leads: Leads) -> ScriptResult<Reading> {
    if limits.unit.dimension() != Dimension::VOLTAGE {
        return Err(script_error_at(ctx, "a diode test shows volts: give its limits in V"));
    }
    fitting(ctx, Function::Diode, &leads)?;
    ask(ctx, id, text, Question::Reading { function: Function::Diode, limits, leads }).map(Reading)
}

fn read_ac(ctx: &C, id: &str, text: &str, limits: Limits, leads: Leads) -> ScriptResult<Reading> {
    if limits.unit.dimension() != Dimension::VOLTAGE {
        return Err(script_error_at(ctx, "AC is read in volts: give its limits in V"));
    }
    fitting(ctx, Function::AcVolts, &leads)?;
    ask(ctx, id, text, Question::Reading { function: Function::AcVolts, limits, leads }).map(Reading)
}

fn read_number(ctx: &C, id: &str, text: &str, limits: Limits) -> ScriptResult<Reading> {
    match limits.unit.dimension() {
        Dimension::VOLTAGE | Dimension::CURRENT | Dimension::RESISTANCE | Dimension::FREQUENCY => {
            Err(script_error_at(ctx, format!("a meter shows {}: ask for it with `read`", limits.unit.dimension())))
        }
        _ => ask(ctx, id, text, Question::Number { limits }).map(Reading),
    }
}

fn module_shows(ctx: &C, id: &str, text: &str, limits: Limits, signal: &str) -> ScriptResult<Reading> {
    let points = context(ctx)?;
    let signals = points.points.as_deref().map(|points| &points.signals);
    Points::known(signals, "module signal", signal).map_err(|error| script_error_at(ctx, error))?;
    ask(ctx, id, text, Question::ModuleValue { signal: signal.to_owned(), limits }).map(Reading)
}

fn sweep(ctx: &C, id: &str, text: &str, ends: Ends, leads: Leads, moving: &Moving) -> ScriptResult<Swept> {
    let function = function_for(ctx, ends.unit.dimension())?;
    movable(ctx, &moving.0)?;
    fitting(ctx, function, &leads)?;
    let question = Question::Sweep { function, ends: ends.clone(), leads, moving: moving.0.to_string() };
    ask(ctx, id, text, question).map(|asked| Swept(Arc::new(asked), Arc::new(ends)))
}

fn lowest_highest(
    ctx: &C,
    id: &str,
    text: &str,
    limits: Limits,
    leads: Leads,
    meanwhile: &Moving,
) -> ScriptResult<LowestHighest> {
    let function = function_for(ctx, limits.unit.dimension())?;
    fitting(ctx, function, &leads)?;
    let question =
        Question::LowestHighest { function, limits: limits.clone(), leads, meanwhile: meanwhile.0.to_string() };
    ask(ctx, id, text, question).map(|asked| LowestHighest(Arc::new(asked), Arc::new(limits)))
}

/// Whether the circuit knows a moving part of this name.
pub fn movable(ctx: &NativeCallContext, part: &str) -> ScriptResult<()> {
    let points = context(ctx)?;
    let known = points.points.as_deref().map(|points| points.movable.keys());
    not_too_long(ctx, "a moving part's name", part)?;
    Points::known(known, "moving part", part).map_err(|error| script_error_at(ctx, error))
}

fn choose(ctx: &C, id: &str, text: &str, options: Array) -> ScriptResult<Chosen> {
    let mut words = Vec::with_capacity(options.len());
    for option in options {
        let word = option.into_immutable_string().map_err(|kind| {
            script_error_at(ctx, format!("the choices of `{id}` must be texts, not {}", TypeName::of(kind)))
        })?;
        not_too_long(ctx, "a choice", &word)?;
        if word.trim().is_empty() || words.iter().any(|other| *other == word.as_str()) {
            return Err(script_error_at(
                ctx,
                format!("the choices of `{id}` must be different and not empty: \"{word}\""),
            ));
        }
        words.push(word.to_string());
    }
    if words.len() < 2 {
        return Err(script_error_at(ctx, format!("`{id}` needs at least two choices")));
    }
    let question = Question::Choice { options: words.clone() };
    ask(ctx, id, text, question).map(|asked| Chosen(Arc::new(asked), Arc::new(words)))
}

functions! { volatile: true;
    "read" (id: Text, text: Text, limits: Limits, leads: Leads) -> Reading
        "One meter value, with its limits and where the leads go." =>
        |ctx: C, id: S, text: S, limits: Limits, leads: Leads| read(&ctx, &id, &text, limits, leads);
    "read" (id: Text, text: Text, limits: Limits) -> Reading
        "One meter value, with its limits." =>
        |ctx: C, id: S, text: S, limits: Limits| read(&ctx, &id, &text, limits, Leads::Nowhere);
    "read_diode" (id: Text, text: Text, limits: Limits, leads: Leads) -> Reading
        "One value of the meter's diode test." =>
        |ctx: C, id: S, text: S, limits: Limits, leads: Leads| read_diode(&ctx, &id, &text, limits, leads);
    "read_ac" (id: Text, text: Text, limits: Limits, leads: Leads) -> Reading
        "AC volts: true RMS without what is direct." =>
        |ctx: C, id: S, text: S, limits: Limits, leads: Leads| read_ac(&ctx, &id, &text, limits, leads);
    "read_number" (id: Text, text: Text, limits: Limits) -> Reading
        "A value that no circuit answers: a length, a pressure, a torque, a thermometer's temperature." =>
        |ctx: C, id: S, text: S, limits: Limits| read_number(&ctx, &id, &text, limits);
    "module_shows" (id: Text, text: Text, limits: Limits, signal: Text) -> Reading
        "What the control module reports for a signal." =>
        |ctx: C, id: S, text: S, limits: Limits, signal: S| module_shows(&ctx, &id, &text, limits, &signal);
    "sweep" (id: Text, text: Text, ends: Ends, leads: Leads, moving: Moving) -> Sweep
        "Many readings of one point while something is moved end to end." =>
        |ctx: C, id: S, text: S, ends: Ends, leads: Leads, moving: Moving| sweep(&ctx, &id, &text, ends, leads, &moving);
    "lowest_highest" (id: Text, text: Text, limits: Limits, leads: Leads, meanwhile: Moving) -> LowestHighest
        "The meter's own lowest and highest, recorded while something is moved, heated or loaded." =>
        |ctx: C, id: S, text: S, limits: Limits, leads: Leads, moving: Moving| lowest_highest(&ctx, &id, &text, limits, leads, &moving);
    "ask" (id: Text, text: Text) -> YesNo "A yes-or-no question: `.yes`, `.no`." =>
        |ctx: C, id: S, text: S| ask(&ctx, &id, &text, Question::YesNo).map(|asked| Confirmed(Arc::new(asked)));
    "choose" (id: Text, text: Text, options: List) -> Choice "One of several texts; compare it with them by `==`." =>
        |ctx: C, id: S, text: S, options: Array| choose(&ctx, &id, &text, options);
    "note" (id: Text, text: Text) -> Note "Free text from the technician." =>
        |ctx: C, id: S, text: S| ask(&ctx, &id, &text, Question::Note).map(|asked| Written(Arc::new(asked)));
}

/// The prompts.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    register(&mut module, wanted);
    module
}
