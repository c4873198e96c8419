//! What prompts give back to the script, and what may be asked of it.

use super::super::context::{ScriptResult, error_at, script_error_at, with_session};
use crate::model::ending::{Ending, Why};
use crate::model::limits::{LimitResult, Limits, Sureness, Verdict};
use crate::model::prompt::{Answer, Ends, PromptId};
use crate::model::quantity::Quantity;
use crate::model::sweep::{Shape, Track};
use crate::model::typed::Shown;
use crate::model::words;
use crate::run::meaning::Asked;
use crate::script::function_doc::{FunctionDoc, Kind};
use crate::script::wanted::Wanted;
use rhai::{Dynamic, FuncRegistration, INT, ImmutableString, Module, NativeCallContext};
use std::cmp::Ordering;
use std::sync::Arc;

/// A meter reading or a module value.
#[derive(Clone, Debug)]
pub struct Reading(pub Asked);
/// A sweep with the ends that it should run between.
#[derive(Clone, Debug)]
pub struct Swept(pub Arc<Asked>, pub Arc<Ends>);
/// The meter's own lowest and highest, with what both may be.
#[derive(Clone, Debug)]
pub struct LowestHighest(pub Arc<Asked>, pub Arc<Limits>);
/// Yes or no.
#[derive(Clone, Debug)]
pub struct Confirmed(pub Arc<Asked>);
/// One of several.
#[derive(Clone, Debug)]
pub struct Chosen(pub Arc<Asked>, pub Arc<Vec<String>>);
/// Free text.
#[derive(Clone, Debug)]
pub struct Written(pub Arc<Asked>);

fn skipped(asked: &Asked) -> Option<&str> {
    match &asked.answer {
        Answer::Skipped { reason } => Some(reason),
        _ => None,
    }
}

/// Whether it was skipped; from now on the script may ask the rest.
fn ask_skipped(ctx: &NativeCallContext, asked: &Asked) -> ScriptResult<bool> {
    with_session(ctx, |session| {
        session.skip_was_asked(&asked.prompt.id);
        Ok(())
    })?;
    Ok(skipped(asked).is_some())
}

/// True where there is an answer; false where it was skipped and the script knows; else the run ends unfinished.
fn is_there(ctx: &NativeCallContext, asked: &Asked) -> ScriptResult<bool> {
    let skipped = skipped(asked);
    with_session(ctx, |session| {
        session.asked_about.ask(&asked.prompt.id);
        let Some(reason) = skipped else { return Ok(true) };
        if session.knows_of_skip(&asked.prompt.id) {
            Ok(false)
        } else {
            Err(session.needs_skipped(&asked.prompt.id, reason))
        }
    })
}

fn needs_answer(ctx: &NativeCallContext, id: &PromptId) -> Box<rhai::EvalAltResult> {
    script_error_at(ctx, format!("`{id}` was skipped and has no value: look at `.skipped` first and go another way"))
}

fn standing(ctx: &NativeCallContext, asked: &Asked, wanted: LimitResult) -> ScriptResult<bool> {
    if !is_there(ctx, asked)? {
        return Ok(false);
    }
    match asked.verdict {
        // No circuit is beyond a meter's volts: where the script has not asked for it, nothing follows from it.
        Some(Verdict { standing: LimitResult::OverRange, .. }) if wanted != LimitResult::OverRange => {
            with_session(ctx, |session| {
                if session.knows_of_over_range(&asked.prompt.id) {
                    Ok(false)
                } else {
                    Err(session.needs_on_scale(&asked.prompt.id))
                }
            })
        }
        Some(Verdict { standing: LimitResult::OverRange, .. }) => with_session(ctx, |session| {
            session.over_range_was_asked(&asked.prompt.id);
            Ok(true)
        }),
        // An open circuit has more ohms than any limit.
        Some(Verdict { standing: LimitResult::Open, .. }) => Ok(wanted == LimitResult::High),
        Some(Verdict { standing, .. }) => Ok(standing == wanted),
        None => Err(script_error_at(
            ctx,
            format!("`{}` has no limits, so it is neither in nor out: use its `.value`", asked.prompt.id),
        )),
    }
}

fn is_unsteady(asked: &Asked) -> bool {
    matches!(asked.shown.first(), Some(Shown::Unsteady { .. }))
}

/// Whether it goes to and fro; from now on the script may ask the rest.
fn ask_unsteady(ctx: &NativeCallContext, asked: &Asked) -> ScriptResult<bool> {
    let there = is_there(ctx, asked)?;
    with_session(ctx, |session| {
        session.unsteady_was_asked(&asked.prompt.id);
        Ok(there && is_unsteady(asked))
    })
}

/// Whether it rests; where it does not and the script has not asked, the run ends unfinished.
fn rests(ctx: &NativeCallContext, asked: &Asked) -> ScriptResult<bool> {
    if !is_there(ctx, asked)? || !is_unsteady(asked) {
        return Ok(true);
    }
    with_session(ctx, |session| {
        if session.knows_of_unsteady(&asked.prompt.id) {
            Ok(false)
        } else {
            Err(session.needs_steady(&asked.prompt.id))
        }
    })
}

fn single(ctx: &NativeCallContext, asked: &Asked, index: usize) -> ScriptResult<Quantity> {
    if !is_there(ctx, asked)? {
        return Err(needs_answer(ctx, &asked.prompt.id));
    }
    if !rests(ctx, asked)? {
        return Err(script_error_at(
            ctx,
            format!(
                "`{}` does not rest and has no value: look at `.unsteady` first and go another way",
                asked.prompt.id
            ),
        ));
    }
    match asked.shown.get(index) {
        Some(Shown::Value(value)) => Ok(*value),
        _ => {
            let ending = Ending::unfinished(Why::NoValue { id: asked.prompt.id.clone() });
            with_session(ctx, |session| session.lacks(Some(&asked.prompt.id), ending).map_or(Ok(()), Err))?;
            let problem =
                format!("`{}` shows OL and has no value: look at `.open` or `.over_range` first", asked.prompt.id);
            Err(script_error_at(ctx, problem))
        }
    }
}

impl Reading {
    /// The value; an error where there is none.
    pub fn value(&self, ctx: &NativeCallContext) -> ScriptResult<Quantity> {
        single(ctx, &self.0, 0)
    }
}

impl LowestHighest {
    /// One of the two values; `None` where it was skipped or shows OL.
    fn end(&self, index: usize) -> Option<Quantity> {
        match self.0.shown.get(index) {
            Some(Shown::Value(value)) => Some(*value),
            _ => None,
        }
    }
}

impl Chosen {
    /// Whether this option was chosen; an error where there is no such option.
    pub fn is(&self, ctx: &NativeCallContext, option: &str) -> ScriptResult<bool> {
        if !self.1.iter().any(|known| known == option) {
            let nearest = words::nearest(option, self.1.iter().map(String::as_str));
            return Err(error_at(
                ctx,
                format!("`{}` has no option \"{option}\"{}", self.0.prompt.id, words::did_you_mean(nearest.as_deref())),
            ));
        }
        if !is_there(ctx, &self.0)? {
            return Ok(false);
        }
        Ok(matches!(&self.0.answer, Answer::Choice { option: chosen } if chosen == option))
    }
}

impl Swept {
    fn track(&self) -> Track {
        Track::of(&self.0.shown, &self.1)
    }
    fn unbroken(&self, ctx: &NativeCallContext) -> ScriptResult<(Quantity, Quantity)> {
        if !is_there(ctx, &self.0)? {
            return Err(needs_answer(ctx, &self.0.prompt.id));
        }
        Track::unbroken(&self.0.shown, &self.1)
            .ok_or_else(|| script_error_at(ctx, "the sweep shows OL all along: it has no lowest and no highest value"))
    }
    fn shape(&self, ctx: &NativeCallContext, wanted: Shape) -> ScriptResult<bool> {
        Ok(is_there(ctx, &self.0)? && self.track().shape == wanted)
    }
}

macro_rules! properties {
    ($($type:ty, $of:ident.$name:literal -> $gives:ident, $doc:literal => $output:ty, |$ctx:ident, $this:ident| $body:expr;)+) => {
        /// The help texts of the properties of answers.
        pub const FUNCTION_DOCS: &[FunctionDoc] = &[
            $(FunctionDoc::property(Kind::$of, $name, Kind::$gives, $doc)),+
        ];

        fn register(module: &mut Module, wanted: &Wanted<'_>) {
            $(
                if wanted.has($name) {
                    FuncRegistration::new_getter($name).in_global_namespace().set_into_module(
                        module,
                        |$ctx: NativeCallContext, $this: &mut $type| -> ScriptResult<$output> { $body },
                    );
                }
            )+
        }
    };
}

properties! {
    Reading, Reading."ok" -> TrueOrFalse, "Inside its limits." => bool, |ctx, this| standing(&ctx, &this.0, LimitResult::In);
    Reading, Reading."low" -> TrueOrFalse, "Below its limits." => bool, |ctx, this| standing(&ctx, &this.0, LimitResult::Low);
    Reading, Reading."high" -> TrueOrFalse, "Above its limits; an open circuit is, too." => bool, |ctx, this| standing(&ctx, &this.0, LimitResult::High);
    Reading, Reading."open" -> TrueOrFalse, "OL on ohms or diode." => bool, |ctx, this| Ok(is_there(&ctx, &this.0)?
        && matches!(this.0.shown.first(), Some(Shown::OverRange))
        && this.0.verdict.is_none_or(|verdict| verdict.standing != LimitResult::OverRange));
    Reading, Reading."over_range" -> TrueOrFalse, "OL on anything else: where a script does not ask for it, it ends the run without a cause." => bool, |ctx, this| standing(&ctx, &this.0, LimitResult::OverRange);
    Reading, Reading."unsteady" -> TrueOrFalse, "Goes to and fro, `9.1 … 12.3`: neither inside its limits nor outside." => bool, |ctx, this| ask_unsteady(&ctx, &this.0);
    Reading, Reading."rests" -> TrueOrFalse, "Does not go to and fro: where a script does not ask for `.unsteady` before, a reading that does ends the run without a cause." => bool, |ctx, this| rests(&ctx, &this.0);
    Reading, Reading."unsure" -> TrueOrFalse, "Nearer to a limit than the meter can tell." => bool, |ctx, this| Ok(is_there(&ctx, &this.0)?
        && matches!(this.0.verdict, Some(Verdict { sureness: Sureness::Unsure { .. }, .. })));
    Reading, Reading."skipped" -> TrueOrFalse, "Left out by the technician." => bool, |ctx, this| ask_skipped(&ctx, &this.0);
    Reading, Reading."value" -> Quantity, "The value as a quantity." => Quantity, |ctx, this| this.value(&ctx);
    Swept, Sweep."follows" -> TrueOrFalse, "Runs from end to end without a break, up or down." => bool, |ctx, this| this.shape(&ctx, Shape::Follows);
    Swept, Sweep."stuck" -> TrueOrFalse, "Does not move with the part." => bool, |ctx, this| this.shape(&ctx, Shape::Stuck);
    Swept, Sweep."short_of_end" -> TrueOrFalse, "Follows but does not reach an end." => bool, |ctx, this| this.shape(&ctx, Shape::ShortOfEnd);
    Swept, Sweep."drops_out" -> TrueOrFalse, "Breaks off somewhere on the way." => bool, |ctx, this| this.shape(&ctx, Shape::Dropout);
    Swept, Sweep."skipped" -> TrueOrFalse, "Left out by the technician." => bool, |ctx, this| ask_skipped(&ctx, &this.0);
    Swept, Sweep."readings" -> WholeNumber, "How many readings." => INT, |ctx, this| {
        if !is_there(&ctx, &this.0)? { return Err(needs_answer(&ctx, &this.0.prompt.id)); }
        Ok(this.0.shown.len() as INT) };
    Swept, Sweep."values" -> List, "The values as a list." => Dynamic, |ctx, this| {
        if !is_there(&ctx, &this.0)? { return Err(needs_answer(&ctx, &this.0.prompt.id)); }
        Ok(this.track().values.into_iter().map(Dynamic::from).collect::<Vec<_>>().into()) };
    Swept, Sweep."lowest" -> Quantity, "Lowest value." => Quantity, |ctx, this| {
        if !is_there(&ctx, &this.0)? { return Err(needs_answer(&ctx, &this.0.prompt.id)); }
        this.track().lowest().ok_or_else(|| script_error_at(&ctx, "the sweep shows OL all along: it has no lowest value")) };
    Swept, Sweep."highest" -> Quantity, "Highest value." => Quantity, |ctx, this| {
        if !is_there(&ctx, &this.0)? { return Err(needs_answer(&ctx, &this.0.prompt.id)); }
        this.track().highest().ok_or_else(|| script_error_at(&ctx, "the sweep shows OL all along: it has no highest value")) };
    Swept, Sweep."lowest_unbroken" -> Quantity, "Lowest value, those left aside that leap away and back." => Quantity, |ctx, this| Ok(this.unbroken(&ctx)?.0);
    Swept, Sweep."highest_unbroken" -> Quantity, "Highest value, those left aside that leap away and back." => Quantity, |ctx, this| Ok(this.unbroken(&ctx)?.1);
    LowestHighest, LowestHighest."ok" -> TrueOrFalse, "Both inside the limits." => bool, |ctx, this| standing(&ctx, &this.0, LimitResult::In);
    LowestHighest, LowestHighest."low" -> TrueOrFalse, "The lowest is below the limits." => bool, |ctx, this| Ok(standing(&ctx, &this.0, LimitResult::Low)?
        || this.end(0).zip(this.1.low()).is_some_and(|(lowest, limit)| lowest.compare(limit).is_ok_and(Ordering::is_lt)));
    LowestHighest, LowestHighest."high" -> TrueOrFalse, "The highest is above the limits." => bool, |ctx, this| Ok(standing(&ctx, &this.0, LimitResult::High)?
        || this.end(1).zip(this.1.high()).is_some_and(|(highest, limit)| highest.compare(limit).is_ok_and(Ordering::is_gt)));
    LowestHighest, LowestHighest."lowest" -> Quantity, "Lowest value." => Quantity, |ctx, this| single(&ctx, &this.0, 0);
    LowestHighest, LowestHighest."highest" -> Quantity, "Highest value." => Quantity, |ctx, this| single(&ctx, &this.0, 1);
    LowestHighest, LowestHighest."skipped" -> TrueOrFalse, "Left out by the technician." => bool, |ctx, this| ask_skipped(&ctx, &this.0);
    Confirmed, YesNo."yes" -> TrueOrFalse, "Answered yes." => bool, |ctx, this| Ok(is_there(&ctx, &this.0)? && this.0.answer == Answer::YesNo { yes: true });
    Confirmed, YesNo."no" -> TrueOrFalse, "Answered no." => bool, |ctx, this| Ok(is_there(&ctx, &this.0)? && this.0.answer == Answer::YesNo { yes: false });
    Confirmed, YesNo."skipped" -> TrueOrFalse, "Left out by the technician." => bool, |ctx, this| ask_skipped(&ctx, &this.0);
    Chosen, Choice."skipped" -> TrueOrFalse, "Left out by the technician." => bool, |ctx, this| ask_skipped(&ctx, &this.0);
    Written, Note."skipped" -> TrueOrFalse, "Left out by the technician." => bool, |ctx, this| ask_skipped(&ctx, &this.0);
    Written, Note."text" -> Text, "The words." => ImmutableString, |ctx, this| match &this.0.answer {
        Answer::Note { words } => Ok(words.into()),
        _ if is_there(&ctx, &this.0)? => Ok(ImmutableString::new()),
        _ => Err(needs_answer(&ctx, &this.0.prompt.id)) };
}

/// The properties of every kind of answer.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    module.set_custom_type::<Reading>("Reading");
    module.set_custom_type::<Swept>("Sweep");
    module.set_custom_type::<LowestHighest>("LowestHighest");
    module.set_custom_type::<Confirmed>("YesNo");
    module.set_custom_type::<Chosen>("Choice");
    module.set_custom_type::<Written>("Note");
    register(&mut module, wanted);
    macro_rules! shown {
        ($($kind:ty => |$this:ident| $text:expr;)+) => {$(
            for name in ["to_string", "to_debug"] {
                FuncRegistration::new(name).in_global_namespace()
                    .set_into_module(&mut module, |$this: &mut $kind| ImmutableString::from($text));
            }
        )+};
    }
    shown! {
        Reading => |this| text_of(&this.0);
        Swept => |this| format!("{} readings", this.0.shown.len());
        LowestHighest => |this| text_of(&this.0);
        Confirmed => |this| text_of(&this.0);
        Chosen => |this| text_of(&this.0);
        Written => |this| text_of(&this.0);
    }
    module
}

fn text_of(asked: &Asked) -> String {
    match &asked.answer {
        Answer::Reading { typed } => match asked.shown.first() {
            Some(Shown::Value(value)) => value.to_string(),
            _ => typed.to_string(),
        },
        Answer::LowestHighest { lowest, highest } => format!("{lowest} … {highest}"),
        Answer::Sweep { readings } => format!("{readings} readings"),
        Answer::YesNo { yes } => if *yes { "yes" } else { "no" }.to_owned(),
        Answer::Choice { option } => option.clone(),
        Answer::Note { words } => words.clone(),
        Answer::Skipped { reason } => format!("skipped: {reason}"),
    }
}
