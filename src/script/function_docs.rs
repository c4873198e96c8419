//! Every function that a script can call, with the numbers of arguments it takes: known without making any of them.

use super::bindings::{actions, answers, arithmetic, limits, prompts, steps};
use super::engine_functions::BROUGHT;
use super::function_doc::FunctionDoc;
use super::{console_bench, console_docs};
use crate::electrical::helper::Kind;
use crate::electrical::reference::{self, HELPERS};
use crate::model::words;
use std::collections::BTreeSet;

/// What help says of the functions and properties that procedures are written with.
pub fn own() -> impl Iterator<Item = &'static FunctionDoc> {
    [
        arithmetic::FUNCTION_DOCS,
        answers::FUNCTION_DOCS,
        limits::FUNCTION_DOCS,
        prompts::FUNCTION_DOCS,
        actions::FUNCTION_DOCS,
        steps::FUNCTION_DOCS,
    ]
    .into_iter()
    .flatten()
}

/// Of these, the functions.
pub fn functions() -> impl Iterator<Item = &'static FunctionDoc> {
    own().filter(|word| word.of.is_none())
}

/// Of these, the properties of answers.
pub fn properties() -> impl Iterator<Item = &'static FunctionDoc> {
    own().filter(|word| word.of.is_some())
}

/// Every function of the language with a number of arguments that it takes.
fn every() -> impl Iterator<Item = (&'static str, usize)> {
    let helpers = HELPERS
        .iter()
        .flat_map(|topic| topic.iter())
        .flat_map(|helper| (helper.parameters.len()..=helper.most_arguments()).map(|number| (helper.name, number)));
    let own = functions().map(|word| (word.name, word.takes.len()));
    let brought = BROUGHT.iter().flat_map(|group| group.functions.iter());
    helpers.chain(own).chain(brought.flat_map(|(name, takes, _)| takes.iter().map(move |takes| (*name, *takes))))
}

/// The numbers of arguments that a function takes; none where there is no such function.
pub fn takes(name: &str) -> BTreeSet<usize> {
    every().filter(|(known, _)| *known == name).map(|(_, takes)| takes).collect()
}

/// The fields of everything that a helper with several results gives.
pub fn fields() -> impl Iterator<Item = &'static str> {
    HELPERS
        .iter()
        .flat_map(|topic| topic.iter())
        .flat_map(|helper| match helper.answer {
            Kind::Fields(_, names) => names,
            _ => &[],
        })
        .copied()
}

/// The name of every function.
pub fn names() -> BTreeSet<&'static str> {
    every().map(|(name, _)| name).collect()
}

/// Every word that is known with its kinds: of the language and of the prompt.
pub fn every_word() -> impl Iterator<Item = &'static FunctionDoc> {
    own().chain(console_docs::FUNCTION_DOCS).chain(console_bench::FUNCTION_DOCS)
}

/// The ways in which a function can be called, in a line; `None` where there is no such function.
pub fn how_to_call(name: &str) -> Option<String> {
    if let Some(helper) = reference::find(name) {
        return Some(helper.signature());
    }
    let mut ways: Vec<String> = every_word().filter(|word| word.name == name).map(FunctionDoc::to_string).collect();
    ways.dedup();
    (!ways.is_empty()).then(|| words::either(&ways))
}

#[cfg(all(test, feature = "engine-names"))]
mod tests {
    use super::*;
    use crate::script::engine::Language;
    use rhai::FuncInfo;

    #[test]
    fn the_words_are_the_functions_of_the_language_and_no_others() {
        let found = Language::whole().engine().collect_fn_metadata(
            None,
            |info: FuncInfo| Some((info.metadata.name.to_string(), info.metadata.num_params)),
            true,
        );
        let is_word = |name: &str| name.chars().all(|c| c.is_alphanumeric() || c == '_');
        // There only because the tests ask the engine for its functions' names.
        let found: BTreeSet<_> = found
            .into_iter()
            .filter(|(name, _)| is_word(name) && name != "get_fn_metadata_list" && name != "parse_json")
            // What a script writes as `curry` is sent there by the engine's hook.
            .filter(|(name, _)| name != crate::script::work::CURRY)
            .collect();
        let by_the_evaluator = ["Fn", "is_def_fn", "is_def_var", "is_shared", "type_of"];
        let told: BTreeSet<_> = every()
            .filter(|(name, _)| !by_the_evaluator.contains(name))
            .map(|(name, takes)| (name.to_owned(), takes))
            .collect();
        let missing: Vec<_> = found.difference(&told).collect();
        let invented: Vec<_> = told.difference(&found).collect();
        assert!(missing.is_empty() && invented.is_empty(), "not told: {missing:?}; not there: {invented:?}");
    }
}
