//! The engine: built raw from modules that are made once and shared, with every limit set.

use super::{bindings, helpers};
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage,
    BasicStringPackage, LanguageCorePackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{Engine, Module, OptimizationLevel, Shared};
use std::sync::OnceLock;

/// Operations after which a script has run away.
pub const MAX_OPERATIONS: u64 = 5_000_000;
/// How deep calls may nest.
pub const MAX_CALL_LEVELS: usize = 48;
/// Stack that a script's thread must have, in bytes.
pub const STACK: usize = 16 << 20;

/// The engine's own functions that the language has.
fn standard() -> [Shared<Module>; 10] {
    [
        LanguageCorePackage::new().as_shared_module(),
        ArithmeticPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
        BasicIteratorPackage::new().as_shared_module(),
        BasicFnPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicMathPackage::new().as_shared_module(),
        BasicArrayPackage::new().as_shared_module(),
        BasicMapPackage::new().as_shared_module(),
        MoreStringPackage::new().as_shared_module(),
    ]
}

/// An engine that has nothing but what the engine brings: for help.
pub fn packages() -> Engine {
    let mut engine = Engine::new_raw();
    for module in standard() {
        engine.register_global_module(module);
    }
    engine
}

fn shared() -> &'static [Shared<Module>] {
    static MODULES: OnceLock<Vec<Shared<Module>>> = OnceLock::new();
    MODULES.get_or_init(|| {
        // The first one registered is looked at last: ours come behind and win.
        let mut modules = standard().to_vec();
        modules.extend([
            Shared::new(helpers::module()),
            ours(),
            // Looked at first: small, and what it has not got is not searched for with other kinds of arguments.
            Shared::new(indexed(bindings::comparisons::module())),
            Shared::new(indexed(bindings::units::module())),
        ]);
        modules
    })
}

fn indexed(mut module: Module) -> Module {
    module.build_index();
    module
}

fn ours() -> Shared<Module> {
    let mut module = Module::new();
    for part in [
        bindings::arithmetic::module(),
        bindings::answers::module(),
        bindings::limits::module(),
        bindings::prompts::module(),
        bindings::actions::module(),
        bindings::steps::module(),
    ] {
        module.combine(part);
    }
    module.build_index();
    module.into()
}

/// An engine for one run or one thread; costs well under a microsecond once the modules are made.
pub fn build() -> Engine {
    let mut engine = Engine::new_raw();
    for module in shared() {
        engine.register_global_module(Shared::clone(module));
    }
    engine
        .set_max_operations(MAX_OPERATIONS)
        .set_max_call_levels(MAX_CALL_LEVELS)
        .set_max_expr_depths(64, 32)
        .set_max_string_size(64 * 1024)
        .set_max_array_size(10_000)
        .set_max_map_size(10_000)
        .set_max_variables(1_000)
        .set_max_functions(500)
        .set_max_modules(64);
    engine.set_max_strings_interned(0);
    engine.set_optimization_level(OptimizationLevel::Simple);
    engine.disable_symbol("eval").disable_symbol("import").disable_symbol("export");
    // A `switch` finds its case by the value's hash, which a reading, a choice or a quantity has not: it would silently go
    // to the last case.
    engine.disable_symbol("switch");
    engine.set_strict_variables(true);
    engine.set_fail_on_invalid_map_property(true);
    // With the engine's own fast operators, unlike things compare as a silent false.
    engine.set_fast_operators(false);
    engine
}
