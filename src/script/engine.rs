//! The engine: built raw from modules that are made once and shared, with every limit set.

use super::engine_functions::{self, BROUGHT, Group};
use super::wanted::Wanted;
use super::work;
use super::{bindings, helpers};
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage,
    BasicStringPackage, LanguageCorePackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{Engine, Module, OptimizationLevel, Shared};
use std::sync::{Arc, OnceLock};

/// How deep calls may nest.
pub const MAX_CALL_LEVELS: usize = 48;
/// Stack that a script's thread must have, in bytes.
pub const STACK: usize = 16 << 20;

/// Every name in a text that may be a function's, operators included.
pub fn names_in(text: &str) -> impl Iterator<Item = &str> {
    let words = text.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|word| !word.is_empty());
    let operators = [("<", "<"), ("<", "<="), (">", ">"), (">", ">="), ("!=", "!=")];
    let signs = BROUGHT
        .iter()
        .flat_map(|group| group.signs)
        .filter(|sign| **sign != engine_functions::IN)
        .map(|sign| (*sign, *sign));
    words.chain(operators.into_iter().chain(signs).filter(|(sign, _)| text.contains(sign)).map(|(_, name)| name))
}

/// The functions that scripts have: all, or those that some texts name.
#[derive(Clone)]
pub struct Language(Arc<[Shared<Module>]>);

impl Language {
    /// All of it.
    pub fn whole() -> Self {
        static WHOLE: OnceLock<Language> = OnceLock::new();
        WHOLE.get_or_init(|| Self::wanted(&Wanted::ALL)).clone()
    }

    /// What these texts can reach.
    pub fn of(texts: &[&str]) -> Self {
        Self::with(texts.iter().flat_map(|text| names_in(text)))
    }

    /// The functions with these names.
    pub fn with<'a>(names: impl Iterator<Item = &'a str>) -> Self {
        Self::wanted(&Wanted::by(names.collect()))
    }

    fn wanted(wanted: &Wanted<'_>) -> Self {
        // The first one registered is looked at last: ours come after it and win.
        let mut modules = made_by_the_engine(wanted);
        let mut ours = Module::new();
        for part in [
            bindings::arithmetic::module(),
            bindings::answers::module(wanted),
            bindings::limits::module(wanted),
            bindings::lists::module(wanted),
            bindings::prompts::module(wanted),
            bindings::actions::module(wanted),
            bindings::steps::module(wanted),
            bindings::held::module(wanted),
            bindings::texts::module(wanted),
        ] {
            ours.combine(part);
        }
        modules.extend([
            Shared::new(helpers::module(wanted)),
            Shared::new(indexed(ours)),
            // Looked at first: small, and what it has not got is not searched for with other kinds of arguments.
            Shared::new(indexed(bindings::comparisons::module(wanted))),
            Shared::new(indexed(bindings::units::module(wanted))),
        ]);
        Self(modules.into())
    }

    /// An engine for one run or one thread; costs well under a microsecond.
    pub fn engine(&self) -> Engine {
        let mut engine = Engine::new_raw();
        for module in self.0.iter() {
            engine.register_global_module(Shared::clone(module));
        }
        bounded(engine)
    }
}

/// What the engine brings along, as far as it is wanted; made once.
fn made_by_the_engine(wanted: &Wanted<'_>) -> Vec<Shared<Module>> {
    type Made = OnceLock<Shared<Module>>;
    type Make = fn() -> Shared<Module>;
    static BASIC: OnceLock<[Shared<Module>; 6]> = OnceLock::new();
    static MATHEMATICS: Made = OnceLock::new();
    static LISTS: Made = OnceLock::new();
    static MAPS: Made = OnceLock::new();
    static TEXTS: Made = OnceLock::new();
    let basic = BASIC.get_or_init(|| {
        [
            LanguageCorePackage::new().as_shared_module(),
            ArithmeticPackage::new().as_shared_module(),
            BasicStringPackage::new().as_shared_module(),
            BasicIteratorPackage::new().as_shared_module(),
            BasicFnPackage::new().as_shared_module(),
            LogicPackage::new().as_shared_module(),
        ]
    });
    let mut modules = basic.to_vec();
    let groups: [(&Group, &Made, Make); 4] = [
        (&engine_functions::MATHEMATICS, &MATHEMATICS, || BasicMathPackage::new().as_shared_module()),
        (&engine_functions::LISTS, &LISTS, || BasicArrayPackage::new().as_shared_module()),
        (&engine_functions::MAPS, &MAPS, || BasicMapPackage::new().as_shared_module()),
        (&engine_functions::TEXTS, &TEXTS, || MoreStringPackage::new().as_shared_module()),
    ];
    for (group, made, make) in groups {
        let mut names = group.functions.iter().map(|(name, ..)| name).chain(group.signs);
        if names.any(|name| wanted.has(name)) {
            modules.push(Shared::clone(made.get_or_init(make)));
        }
    }
    modules
}

fn indexed(mut module: Module) -> Module {
    module.build_index();
    module
}

/// With every limit set, and without what scripts must not have.
fn bounded(mut engine: Engine) -> Engine {
    engine
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
    work::bound(&mut engine);
    engine
}
