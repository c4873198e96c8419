//! `4.75.V` makes a quantity; `q.mV` gives the number of millivolts that a quantity has.

use super::super::context::{ScriptResult, error_at};
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use crate::script::wanted::Wanted;
use rhai::{Dynamic, EvalAltResult, FLOAT, FuncRegistration, INT, Module, NativeCallContext, Position};

/// The engine puts the place to it: every quantity of a script is made here, and asking for the place costs more than the rest.
#[cold]
fn not_finite(number: FLOAT) -> Box<EvalAltResult> {
    let words = format!("{number} is not a number that could have a unit");
    EvalAltResult::ErrorRuntime(Dynamic::from(words), Position::NONE).into()
}

/// The getters of every unit.
pub fn module(wanted: &Wanted<'_>) -> Module {
    let mut module = Module::new();
    module.set_custom_type::<Quantity>("Quantity");
    for (word, unit) in Unit::every().filter(|(word, _)| wanted.has(word)) {
        FuncRegistration::new_getter(&word).in_global_namespace().set_into_module(
            &mut module,
            move |number: &mut FLOAT| -> ScriptResult<Quantity> {
                let quantity = unit.quantity(*number);
                if quantity.si().is_finite() { Ok(quantity) } else { Err(not_finite(*number)) }
            },
        );
        FuncRegistration::new_getter(&word)
            .in_global_namespace()
            .set_into_module(&mut module, move |number: &mut INT| unit.quantity(*number as FLOAT));
        FuncRegistration::new_getter(&word).in_global_namespace().set_into_module(
            &mut module,
            move |ctx: NativeCallContext, quantity: &mut Quantity| -> ScriptResult<FLOAT> {
                if quantity.dimension() == unit.dimension() {
                    Ok(unit.number(*quantity))
                } else {
                    Err(error_at(&ctx, format!("{quantity} is {}, not {}", quantity.dimension(), unit.dimension())))
                }
            },
        );
    }
    module
}
