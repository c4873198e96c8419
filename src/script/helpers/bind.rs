//! How a helper is bound: an exact overload for the right kinds, and one that says in words what is wrong with the rest.

use crate::electrical::age::Age;
use crate::electrical::door::Gauge;
use crate::electrical::error::{ArgumentError, HelperError};
use crate::electrical::helper::{Helper, Kind};
use crate::electrical::results::{Fielded, Spot, Value};
use crate::model::quantity::Quantity;
use crate::script::context::behavior_here;
use crate::script::wanted::Wanted;
use rhai::{Array, Dynamic, EvalAltResult, FLOAT, FuncRegistration, INT, ImmutableString, Module, NativeCallContext};
use std::fmt::Display;

type Outcome = Result<Dynamic, Box<EvalAltResult>>;

/// An argument as a script gives it.
pub(super) trait Take: Sized {
    /// The engine's type when it is of the right kind.
    type Exact: Clone + Send + Sync + 'static;
    /// From the right kind.
    fn exact(argument: &'static str, kind: Kind, given: Self::Exact) -> Result<Self, ArgumentError>;
    /// From anything, or why not.
    fn any(argument: &'static str, kind: Kind, given: Dynamic) -> Result<Self, ArgumentError>;
}

/// Not of the wanted kind: a bare number is told its unit, anything else what it must be.
fn refused(argument: &'static str, kind: Kind, given: &Dynamic) -> ArgumentError {
    let number = given.as_float().ok().or_else(|| given.as_int().ok().map(|number| number as f64));
    match (kind, number) {
        (Kind::Quantity(wanted) | Kind::Quantities(wanted), Some(number)) => {
            ArgumentError::BareNumber { argument, wanted, number }
        }
        _ => {
            let wanted = match kind {
                Kind::Quantity(_) | Kind::Any => "a quantity with its unit",
                Kind::Quantities(_) | Kind::AnyQuantities => "a list of quantities, each with its unit",
                Kind::Number => "a bare number",
                Kind::Whole => "a whole number without a unit",
                Kind::Text => "a text",
                Kind::Gauge => "a gauge such as 14 or \"2/0\"",
                Kind::Numbers | Kind::Fields(..) => "something else",
            };
            ArgumentError::WrongKind { argument, wanted, given: shown(given) }
        }
    }
}

fn shown(given: &Dynamic) -> String {
    match given.clone().try_cast::<Quantity>() {
        Some(quantity) => quantity.to_string(),
        None if given.is_string() => format!("the text `{given}`"),
        None if given.is_unit() => "nothing".to_owned(),
        None if given.is_array() => "a list".to_owned(),
        None => given.to_string(),
    }
}

macro_rules! take {
    ($type:ty, $exact:ty, |$given:ident| $convert:expr) => {
        impl Take for $type {
            type Exact = $exact;
            fn exact(_: &'static str, _: Kind, $given: $exact) -> Result<Self, ArgumentError> {
                Ok($convert)
            }
            fn any(argument: &'static str, kind: Kind, given: Dynamic) -> Result<Self, ArgumentError> {
                match given.clone().try_cast::<$exact>() {
                    Some($given) => Ok($convert),
                    None => Err(refused(argument, kind, &given)),
                }
            }
        }
    };
}
take!(Quantity, Self, |given| given);
take!(i64, INT, |given| given);
take!(String, ImmutableString, |given| given.into());

impl Take for f64 {
    type Exact = FLOAT;
    fn exact(_: &'static str, _: Kind, given: FLOAT) -> Result<Self, ArgumentError> {
        Ok(given)
    }
    fn any(argument: &'static str, kind: Kind, given: Dynamic) -> Result<Self, ArgumentError> {
        let whole = given.as_int().map(|number| number as Self);
        given.as_float().or(whole).map_err(|_| refused(argument, kind, &given))
    }
}

impl Take for Gauge {
    type Exact = INT;
    fn exact(_: &'static str, _: Kind, given: INT) -> Result<Self, ArgumentError> {
        Ok(Self::Number(given))
    }
    fn any(argument: &'static str, kind: Kind, given: Dynamic) -> Result<Self, ArgumentError> {
        let number = given.as_int().map(Self::Number);
        number.or_else(|_| given.clone().into_string().map(Self::Text)).map_err(|_| refused(argument, kind, &given))
    }
}

impl Take for Vec<Quantity> {
    type Exact = Array;
    fn exact(argument: &'static str, kind: Kind, given: Array) -> Result<Self, ArgumentError> {
        given.into_iter().map(|item| Quantity::any(argument, kind, item)).collect()
    }
    fn any(argument: &'static str, kind: Kind, given: Dynamic) -> Result<Self, ArgumentError> {
        match given.clone().into_array() {
            Ok(list) => Self::exact(argument, kind, list),
            Err(_) => Err(ArgumentError::WrongKind {
                argument,
                wanted: "a list of quantities, as in [1.kohm, 2.kohm]",
                given: shown(&given),
            }),
        }
    }
}

/// A result as a script gets it.
pub(super) trait Give {
    /// As the engine holds it.
    fn give(self) -> Dynamic;
}
impl Give for Quantity {
    fn give(self) -> Dynamic {
        Dynamic::from(self)
    }
}
impl Give for i64 {
    fn give(self) -> Dynamic {
        self.into()
    }
}
impl Give for String {
    fn give(self) -> Dynamic {
        self.into()
    }
}
impl Give for Vec<i64> {
    fn give(self) -> Dynamic {
        self.into()
    }
}
impl<T: Fielded> Give for T {
    fn give(self) -> Dynamic {
        Dynamic::from(self)
    }
}

fn raised(context: &NativeCallContext<'_>, error: &HelperError) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(error.to_string().into(), context.call_position()).into()
}

/// The version that the run is at: a record that is read back has what its own version answered.
fn age_of(context: &NativeCallContext<'_>) -> Age {
    behavior_here(context).map_or(Age::TODAY, Age::of)
}

/// A function that can be bound under a helper's name.
pub(super) trait Bindable<Arguments> {
    /// Binds it.
    fn bind(self, module: &mut Module, helper: &'static Helper);
}

/// Under its name; what there is to say of it stays with the helper.
fn named(helper: &'static Helper) -> FuncRegistration {
    FuncRegistration::new(helper.name).in_global_namespace()
}

macro_rules! bindable {
    ($($argument:ident: $type:ident @ $index:literal),+) => {
        impl<F, R, $($type),+> Bindable<($($type,)+)> for F
        where
            F: Fn(Age, $($type),+) -> Result<R, HelperError> + Copy + Send + Sync + 'static,
            R: Give,
            $($type: Take),+
        {
            fn bind(self, module: &mut Module, helper: &'static Helper) {
                let exact = move |context: NativeCallContext<'_>, $($argument: $type::Exact),+| -> Outcome {
                    let refused = |trouble: ArgumentError| raised(&context, &trouble.within(helper.name));
                    $(
                        let (name, kind) = helper.parameters[$index];
                        let $argument = $type::exact(name, kind, $argument).map_err(refused)?;
                    )+
                    self(age_of(&context), $($argument),+).map(Give::give).map_err(|error| raised(&context, &error))
                };
                named(helper).set_into_module(module, exact);
                // Reached only where an argument is of another kind: a whole number for a number, or a mistake.
                let any = move |context: NativeCallContext<'_>, $($argument: bindable!(@dynamic $type)),+| -> Outcome {
                    let refused = |trouble: ArgumentError| raised(&context, &trouble.within(helper.name));
                    $(
                        let (name, kind) = helper.parameters[$index];
                        let $argument = $type::any(name, kind, $argument).map_err(refused)?;
                    )+
                    self(age_of(&context), $($argument),+).map(Give::give).map_err(|error| raised(&context, &error))
                };
                named(helper).set_into_module(module, any);
            }
        }
    };
    (@dynamic $type:ident) => { Dynamic };
}
bindable!(a: A @ 0);
bindable!(a: A @ 0, b: B @ 1);
bindable!(a: A @ 0, b: B @ 1, c: C @ 2);
bindable!(a: A @ 0, b: B @ 1, c: C @ 2, d: D @ 3);
bindable!(a: A @ 0, b: B @ 1, c: C @ 2, d: D @ 3, e: E @ 4);
bindable!(a: A @ 0, b: B @ 1, c: C @ 2, d: D @ 3, e: E @ 4, f: G @ 5);

/// Binds functions of one topic under their own names.
macro_rules! bind {
    ($module:expr, $wanted:expr, $topic:ident: $($name:ident),+ $(,)?) => {
        $(
            if $wanted.has(stringify!($name))
                && let Some(helper) = $topic::HELPERS.iter().find(|helper| helper.name == stringify!($name)) {
                $crate::script::helpers::bind::Bindable::bind($topic::$name::at, $module, helper);
            }
        )+
    };
}
pub(super) use bind;

/// A helper of one list of quantities, with two to four of them given without brackets.
pub(super) fn bind_spread(
    module: &mut Module,
    wanted: &Wanted<'_>,
    helper: &'static Helper,
    function: fn(Age, Vec<Quantity>) -> Result<Quantity, HelperError>,
) {
    if !wanted.has(helper.name) {
        return;
    }
    let spread = move |context: &NativeCallContext<'_>, given: Vec<Dynamic>| -> Outcome {
        let (name, kind) = helper.parameters[0];
        let list =
            Vec::<Quantity>::exact(name, kind, given).map_err(|trouble| raised(context, &trouble.within(helper.name)));
        function(age_of(context), list?).map(Give::give).map_err(|error| raised(context, &error))
    };
    named(helper).set_into_module(module, move |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic| {
        spread(&context, vec![a, b])
    });
    named(helper).set_into_module(module, move |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic, c: Dynamic| {
        spread(&context, vec![a, b, c])
    });
    named(helper).set_into_module(
        module,
        move |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic, c: Dynamic, d: Dynamic| {
            spread(&context, vec![a, b, c, d])
        },
    );
}

/// The fields of a result, and how it prints.
pub(super) fn bind_result<T: Fielded + Display>(module: &mut Module, wanted: &Wanted<'_>) {
    module.set_custom_type::<T>(T::NAME);
    for field in T::FIELDS.iter().filter(|field| wanted.has(field.name)) {
        FuncRegistration::new_getter(field.name).set_into_module(module, |result: &mut T| (field.get)(result).give());
    }
    for name in ["to_string", "to_debug"] {
        FuncRegistration::new(name).in_global_namespace().set_into_module(module, |result: &mut T| result.to_string());
    }
}

impl Give for Value {
    fn give(self) -> Dynamic {
        match self {
            Self::Quantity(quantity) => quantity.give(),
            Self::Number(number) => number.into(),
            Self::Whole(number) => number.into(),
            Self::Truth(truth) => truth.into(),
            Self::Text(text) => text.into(),
            Self::Numbers(numbers) => numbers.into(),
            Self::Spots(spots) => spots.into_iter().map(Spot::give).collect::<Array>().into(),
            Self::Nothing => Dynamic::UNIT,
        }
    }
}
