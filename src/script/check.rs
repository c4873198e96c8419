//! What can be found without running: unknown functions, wrong numbers of arguments, undeclared causes, and what
//! `check_answers` finds.

use super::check_answers;
use super::check_places;
use super::diagnose::{self, Source};
use super::header;
use super::place;
use super::walk::{Found, PROMPTS, call_of, hint, literal_texts, visit};
use super::work;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::NamedCause;
use crate::model::points::Points;
use crate::model::prompt::CauseId;
use crate::model::words;
use rhai::{AST, ASTNode, Expr, FnCallExpr, Module, Shared};
use std::collections::{BTreeSet, HashMap};

/// What a script may call.
pub struct Known<'a> {
    /// Library modules by name.
    pub libraries: &'a [(String, Shared<Module>)],
    /// Causes that may be concluded.
    pub causes: &'a [NamedCause],
}

impl Known<'_> {
    /// Whether there is such a cause.
    fn has_cause(&self, name: &str) -> bool {
        self.causes.iter().any(|cause| cause.id.as_str() == name)
    }

    /// What to do about a cause that the header does not have.
    fn cause_meant(&self, name: &str) -> String {
        let in_words = |cause: &&NamedCause| cause.cause.to_lowercase() == name.trim().to_lowercase();
        if let Some(cause) = self.causes.iter().find(in_words) {
            return format!("a cause is concluded by its name: `{}`", cause.id);
        }
        let ids = || self.causes.iter().map(|cause| cause.id.as_str());
        if !header::is_cause_name(name) {
            let ids: Vec<String> = ids().map(|id| format!("`{id}`")).collect();
            return format!("a cause is concluded by its name, which is one of {}", words::all(&ids));
        }
        if name == CauseId::REPAIRED {
            return "it comes with a library file: `//! uses = [\"after\"]`".to_owned();
        }
        hint(words::nearest(name, ids())).unwrap_or_else(|| {
            format!("declare it under `//! [causes]`: {name} = {{ cause = \"…\", correction = \"…\" }}")
        })
    }
}

/// How many `step` headings a script has: an upper bound for the progress through it.
pub fn count_steps(ast: &AST) -> usize {
    let mut steps = 0;
    visit(ast, &mut |node| {
        if let Some((call, _, _)) = call_of(node)
            && call.namespace.is_empty()
            && call.name == "step"
        {
            steps += 1;
        }
    });
    steps
}

/// The names of the functions that a script calls.
pub(super) fn called(ast: &AST) -> BTreeSet<String> {
    let mut called = BTreeSet::new();
    visit(ast, &mut |node| {
        if let Some((call, ..)) = call_of(node) {
            called.insert(call.name.to_string());
        }
    });
    called
}

/// Whether this is called by a name of its own: no operator, and not a function that is held by a value.
fn is_by_name(call: &FnCallExpr) -> bool {
    call.op_token.is_none() && !["call", "curry", work::CURRY].contains(&call.name.as_str())
}

/// The functions that can be called by a bare name, with the numbers of their arguments.
struct Callable {
    own: HashMap<String, BTreeSet<usize>>,
    takes: HashMap<String, BTreeSet<usize>>,
}

impl Callable {
    /// Those of the language, and these.
    fn with<'a>(own: impl Iterator<Item = (&'a str, usize)>) -> Self {
        let mut callable = Self { own: HashMap::new(), takes: HashMap::new() };
        for (name, takes) in own {
            callable.own.entry(name.to_owned()).or_default().insert(takes);
        }
        callable
    }

    /// What is wrong with a call by its name and the number of its arguments alone, and what may have been meant.
    fn problem(&mut self, name: &str, arguments: usize) -> Option<(String, Option<String>)> {
        let own = &self.own;
        let takes = self.takes.entry(name.to_owned()).or_insert_with(|| {
            let mut takes = super::function_docs::takes(name);
            takes.extend(own.get(name).into_iter().flatten());
            takes
        });
        if takes.is_empty() {
            let names = super::function_docs::names();
            let nearest = words::nearest(name, names.into_iter().chain(own.keys().map(String::as_str)));
            return Some((format!("there is no function `{name}`"), hint(nearest)));
        }
        (!takes.contains(&arguments)).then(|| {
            let how = super::function_docs::how_to_call(name).map(|how| format!("write it as {how}"));
            (format!("`{name}` takes {}, not {arguments}", words::arguments(takes.iter().copied())), how)
        })
    }
}

/// Every problem, in the order of the file.
pub fn check(source: &Source, ast: &AST, known: &Known<'_>) -> Vec<Diagnostic> {
    let mut callable = Callable::with(ast.iter_functions().map(|function| (function.name, function.params.len())));
    let mut found: Vec<Found> = Vec::new();
    for (_, _, name, takes, function) in ast.shared_lib().iter_script_fn_info() {
        // Called by everybody else as the word that it was.
        if super::function_docs::takes(name).contains(&takes) {
            let title = format!("`{name}` with {} is a word of the language", words::arguments([takes]));
            let advice = format!("call the function something else, such as `own_{name}`");
            found.push((function.body.start_position(), title, Some(advice)));
        }
    }
    visit(ast, &mut |node| {
        let Some((call, position, method)) = call_of(node) else { return };
        let arguments = call.args.len() + method;
        let name = call.name.as_str();
        if !is_by_name(call) {
            return;
        }
        if call.namespace.is_empty() {
            let is_property = method == 1 && super::function_docs::properties().any(|word| word.name == name);
            found.extend(callable.problem(name, arguments).map(|(title, hint)| match is_property {
                true => (position, title, Some(format!("write `.{name}`, without brackets"))),
                false => (position, title, hint),
            }));
        } else {
            let library = call.namespace.root();
            match known.libraries.iter().find(|(name, _)| name == library) {
                None => {
                    let (title, advice) = diagnose::no_library(library);
                    found.push((position, title, Some(advice)));
                }
                Some((_, module)) => {
                    let functions: Vec<_> =
                        module.iter_script_fn_info().map(|(_, _, name, params, _)| (name.to_owned(), params)).collect();
                    if !functions.iter().any(|(known, parameters)| known == name && *parameters == arguments) {
                        match functions.iter().find(|(known, _)| known == name) {
                            Some((_, parameters)) => found.push((
                                position,
                                format!(
                                    "`{library}::{name}` takes {}, not {arguments}",
                                    words::arguments([*parameters])
                                ),
                                None,
                            )),
                            None => {
                                let nearest = words::nearest(name, functions.iter().map(|(name, _)| name.as_str()));
                                found.push((position, format!("`{library}` has no function `{name}`"), hint(nearest)));
                            }
                        }
                    }
                }
            }
            return;
        }
        if name == "conclude" {
            for (cause, place) in literal_texts(call.args.first()) {
                if !known.has_cause(&cause) {
                    let advice = known.cause_meant(&cause);
                    found.push((place, format!("the header has no cause `{cause}`"), Some(advice)));
                }
            }
        }
    });
    in_order(source, found)
}

fn in_order(source: &Source, mut found: Vec<Found>) -> Vec<Diagnostic> {
    found.sort_by_key(|(position, ..)| (position.line(), position.position()));
    found.into_iter().map(|found| at(source, found)).collect()
}

fn at(source: &Source, (position, title, hint): Found) -> Diagnostic {
    let mut diagnostic = Diagnostic::at(&source.file, &source.text, place::span(&source.text, position), title);
    diagnostic.hint = hint;
    diagnostic
}

/// Every text and every name of something in a map that stands in these scripts.
pub(super) fn texts(scripts: &[&AST]) -> BTreeSet<String> {
    check_answers::made_by(scripts)
}

/// Slips that show only where they are come to, if ever. A record that was made in spite of one is none the worse, so they
/// are looked for where a procedure is taken up and not where a kept copy is.
pub fn semantic_errors(
    scripts: &[(&Source, &AST)],
    zones: &BTreeSet<&str>,
    points: Option<&Points>,
) -> Vec<Diagnostic> {
    let all: Vec<&AST> = scripts.iter().map(|(_, ast)| *ast).collect();
    let of_one = |(index, (source, ast)): (usize, &(&Source, &AST))| {
        let mut found = Vec::new();
        let is_library = index > 0;
        check_answers::properties(ast, &all, is_library, &mut found);
        check_answers::course(ast, &mut found);
        check_answers::of_questions(ast, &mut found);
        check_answers::unknown_zones(ast, zones, &mut found);
        check_places::leads(ast, points, &mut found);
        // What a library file names need not be there where this procedure does not call it.
        if !is_library {
            check_places::names(ast, points, &mut found);
        }
        in_order(source, found)
    };
    scripts.iter().enumerate().flat_map(of_one).collect()
}

/// What is probably not meant as it stands and may be all the same: words alone don't tell.
pub fn remarks(scripts: &[(&Source, &AST)]) -> Vec<Diagnostic> {
    let of_one = |(source, ast): &(&Source, &AST)| {
        let mut found = Vec::new();
        check_answers::alternating(ast, &mut found);
        in_order(source, found)
    };
    scripts.iter().flat_map(of_one).collect()
}

/// What can be said of a script's prompt ids without running it.
#[derive(Clone, Debug, Default)]
pub struct PromptIds {
    /// Those that stand there as they are.
    pub literal: BTreeSet<String>,
    /// Texts that ids are put together from.
    pub fragments: BTreeSet<String>,
}

impl PromptIds {
    /// Whether a prompt may have this id.
    pub fn may_be(&self, id: &str) -> bool {
        self.literal.contains(id)
            || self
                .fragments
                .iter()
                .any(|part| !part.is_empty() && (id.starts_with(part.as_str()) || id.ends_with(part.as_str())))
    }

    /// Of a procedure and its library files: where one of them puts ids together, the pieces may stand in any of them.
    pub fn of(scripts: &[&AST]) -> Self {
        let mut ids = Self::default();
        let mut put_together = false;
        for ast in scripts {
            put_together |= ids.add_literal(ast);
        }
        if put_together {
            for ast in scripts {
                ids.add_fragments(ast);
            }
        }
        ids
    }

    /// Adds the ids that stand literally; true where others are put together.
    fn add_literal(&mut self, ast: &AST) -> bool {
        let mut put_together = false;
        visit(ast, &mut |node| {
            if let Some((call, _, _)) = call_of(node)
                && call.namespace.is_empty()
                && PROMPTS.contains(&call.name.as_str())
            {
                match call.args.first() {
                    Some(Expr::StringConstant(id, _)) => _ = self.literal.insert(id.to_string()),
                    _ => put_together = true,
                }
            }
        });
        put_together
    }

    fn add_fragments(&mut self, ast: &AST) {
        visit(ast, &mut |node| {
            if let ASTNode::Expr(Expr::StringConstant(text, _)) = node
                && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
            {
                self.fragments.insert(text.to_string());
            }
        });
    }
}

/// The first call in a line at the prompt of what there is not, or with too many or too few arguments. `before` has the
/// functions that were defined there, `own` those that only the prompt has.
pub fn first_wrong_call<'a>(
    source: &Source,
    ast: &'a AST,
    before: &'a AST,
    own: impl Iterator<Item = (&'a str, usize)>,
) -> Option<Diagnostic> {
    let defined = ast.iter_functions().chain(before.iter_functions());
    let mut callable = Callable::with(own.chain(defined.map(|function| (function.name, function.params.len()))));
    let mut first = None;
    visit(ast, &mut |node| {
        let Some((call, position, method)) = call_of(node) else { return };
        if first.is_some() || !is_by_name(call) || !call.namespace.is_empty() {
            return;
        }
        if let Some((title, hint)) = callable.problem(&call.name, call.args.len() + method) {
            let place = place::span(&source.text, position);
            let mut diagnostic = Diagnostic::at(&source.file, &source.text, place, title);
            diagnostic.hint = hint;
            first = Some(diagnostic);
        }
    });
    first
}
