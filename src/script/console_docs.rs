//! The functions that only the prompt has, beside those of its simulated circuit.

use super::function_doc::{FunctionDoc, Kind};

/// The help texts of the functions that only the repl has.
pub const FUNCTION_DOCS: &[FunctionDoc] = &[
    FunctionDoc::function("help", &[], Kind::Text, "What there is, by topic."),
    FunctionDoc::function("help", &[("name", Kind::Text)], Kind::Text, "More of one function."),
    FunctionDoc::function("load", &[("procedure", Kind::Text)], Kind::Text, "Takes a procedure to step through."),
    FunctionDoc::function(
        "step_through",
        &[],
        Kind::Text,
        "Asks the loaded procedure's questions, and keeps no record.",
    ),
];
