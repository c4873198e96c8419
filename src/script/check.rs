//! What can be found without running: unknown functions, wrong numbers of arguments, undeclared causes, ids used twice.

use super::diagnose::{self, Source};
use super::engine::Language;
use super::place;
use crate::model::diagnostic::Diagnostic;
use crate::model::words;
use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, FuncInfo, Module, Position, Shared, Stmt};
use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};

/// What a script may call.
pub struct Known<'a> {
    /// An engine with at least the functions whose names stand in the script.
    pub engine: &'a Engine,
    /// Library modules by name.
    pub libraries: &'a [(String, Shared<Module>)],
    /// Causes that may be concluded.
    pub causes: &'a BTreeSet<&'a str>,
}

/// Shows every function of the language: its name, and how many arguments it takes.
fn each_function(engine: &Engine, see: impl FnMut(&str, usize)) {
    let see = RefCell::new(see);
    let look = |info: FuncInfo| -> Option<()> {
        see.borrow_mut()(&info.metadata.name, info.metadata.num_params);
        None
    };
    engine.collect_fn_metadata(None, look, true);
    // Handled by the evaluator itself.
    for (name, parameters) in
        [("print", 1), ("debug", 1), ("type_of", 1), ("is_shared", 1), ("is_def_var", 1), ("is_def_fn", 2), ("Fn", 1)]
    {
        see.borrow_mut()(name, parameters);
    }
}

/// Of these names, those that the language has, with the numbers of arguments.
fn arities<'a>(engine: &Engine, names: impl Iterator<Item = &'a str>) -> HashMap<&'a str, BTreeSet<usize>> {
    let mut found: HashMap<&str, BTreeSet<usize>> = names.map(|name| (name, BTreeSet::new())).collect();
    each_function(engine, |name, parameters| {
        if let Some(arities) = found.get_mut(name) {
            arities.insert(parameters);
        }
    });
    found.retain(|_, arities| !arities.is_empty());
    found
}

/// The name of every function that an engine has.
pub fn names(engine: &Engine) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    each_function(engine, |name, _| {
        if is_word(name) && !names.contains(name) {
            names.insert(name.to_owned());
        }
    });
    names
}

/// The names of the functions that a script calls.
fn called(ast: &AST) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    visit(ast, &mut |node| {
        if let Some((call, _, _)) = call_of(node)
            && call.op_token.is_none()
            && !names.contains(call.name.as_str())
        {
            names.insert(call.name.to_string());
        }
    });
    names
}

/// Walks a script, `break EXPR` included, where the engine's own walk does not go.
fn visit(ast: &AST, see: &mut dyn FnMut(&ASTNode)) {
    fn step(path: &[ASTNode], see: &mut dyn FnMut(&ASTNode)) -> bool {
        if let Some(node) = path.last() {
            see(node);
            if let ASTNode::Stmt(Stmt::BreakLoop(Some(value), ..)) = node {
                value.walk(&mut Vec::new(), &mut |path: &[ASTNode]| step(path, see));
            }
        }
        true
    }
    ast.walk(&mut |path: &[ASTNode]| step(path, see));
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

fn call_of<'a>(node: &ASTNode<'a>) -> Option<(&'a FnCallExpr, Position, usize)> {
    match node {
        ASTNode::Stmt(Stmt::FnCall(call, position)) | ASTNode::Expr(Expr::FnCall(call, position)) => {
            Some((call, *position, 0))
        }
        ASTNode::Expr(Expr::MethodCall(call, position)) => Some((call, *position, 1)),
        _ => None,
    }
}

/// Every problem, in the order of the file.
pub fn check(source: &Source, ast: &AST, known: &Known<'_>) -> Vec<Diagnostic> {
    let called = called(ast);
    let language = arities(known.engine, called.iter().map(String::as_str));
    let mut own: HashMap<String, BTreeSet<usize>> = HashMap::new();
    for function in ast.iter_functions() {
        own.entry(function.name.to_string()).or_default().insert(function.params.len());
    }
    let mut found: Vec<(Position, String, Option<String>)> = Vec::new();
    visit(ast, &mut |node| {
        let Some((call, position, method)) = call_of(node) else { return };
        let arguments = call.args.len() + method;
        let name = call.name.as_str();
        if call.op_token.is_some() || name == "call" || name == "curry" {
            return;
        }
        if call.namespace.is_empty() {
            let arities = [language.get(name), own.get(name)];
            if arities.iter().all(Option::is_none) {
                let names = names(&Language::whole().engine());
                let nearest = words::nearest(name, names.iter().chain(own.keys()).map(String::as_str));
                found.push((position, format!("there is no function `{name}`"), hint(nearest)));
            } else if !arities.iter().flatten().any(|arity| arity.contains(&arguments)) {
                let takes: BTreeSet<String> =
                    arities.iter().flatten().flat_map(|arity| arity.iter().map(usize::to_string)).collect();
                let takes: Vec<_> = takes.into_iter().collect();
                let title = format!("`{name}` takes {}, not {arguments}", number_of(&words::either(&takes)));
                found.push((position, title, None));
            }
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
                                    number_of(&parameters.to_string())
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
                if !known.causes.contains(cause.as_str()) {
                    let nearest = words::nearest(&cause, known.causes.iter().copied());
                    let advice = hint(nearest).or_else(|| {
                        Some(format!(
                            "declare it under `//! [causes]`: {cause} = {{ cause = \"…\", correction = \"…\" }}"
                        ))
                    });
                    found.push((place, format!("the header has no cause `{cause}`"), advice));
                }
            }
        }
    });
    found.sort_by_key(|(position, ..)| (position.line(), position.position()));
    found
        .into_iter()
        .map(|(position, title, hint)| {
            let mut diagnostic = Diagnostic::at(&source.file, &source.text, place::span(&source.text, position), title);
            diagnostic.hint = hint;
            diagnostic
        })
        .collect()
}

/// `1 argument`, `1 or 2 arguments`.
fn number_of(arguments: &str) -> String {
    format!("{arguments} argument{}", if arguments == "1" { "" } else { "s" })
}

fn is_word(name: &str) -> bool {
    name.chars().all(|c| c.is_alphanumeric() || c == '_')
}

fn hint(nearest: Option<String>) -> Option<String> {
    nearest.map(|name| format!("did you mean `{name}`?"))
}

/// The texts that stand literally in an argument: a text, or a list of texts.
fn literal_texts(argument: Option<&Expr>) -> Vec<(String, Position)> {
    match argument {
        Some(Expr::StringConstant(text, position)) => vec![(text.to_string(), *position)],
        Some(Expr::Array(items, _)) => items.iter().flat_map(|item| literal_texts(Some(item))).collect(),
        Some(Expr::DynamicConstant(value, position)) => match value.read_lock::<rhai::Array>() {
            Some(items) => {
                items.iter().filter_map(|item| item.clone().into_string().ok()).map(|text| (text, *position)).collect()
            }
            None => vec![],
        },
        _ => vec![],
    }
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
                .any(|part| part.len() > 2 && (id.starts_with(part.as_str()) || id.ends_with(part.as_str())))
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
        const PROMPTS: [&str; 8] =
            ["read", "read_diode", "module_shows", "sweep", "lowest_highest", "ask", "choose", "note"];
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

/// The first function in a line at the prompt that is neither of the language nor defined at the prompt.
///
/// The engine has at least the functions that are called; where one is unknown, the whole one is asked for its names.
pub fn unknown_function(
    source: &Source,
    ast: &AST,
    before: &AST,
    engine: &Engine,
    whole: &dyn Fn() -> Engine,
) -> Option<Diagnostic> {
    let called = called(ast);
    let language = arities(engine, called.iter().map(String::as_str));
    let mut first = None;
    visit(ast, &mut |node| {
        let Some((call, position, _)) = call_of(node) else { return };
        let name = call.name.as_str();
        if first.is_some() || call.op_token.is_some() || !call.namespace.is_empty() || name == "call" || name == "curry"
        {
            return;
        }
        let known = language.contains_key(name)
            || ast.iter_functions().chain(before.iter_functions()).any(|function| function.name == name);
        if !known {
            let nearest = words::nearest(name, names(&whole()).iter().map(String::as_str));
            let mut diagnostic = Diagnostic::at(
                &source.file,
                &source.text,
                place::span(&source.text, position),
                format!("there is no function `{name}`"),
            );
            diagnostic.hint = hint(nearest);
            first = Some(diagnostic);
        }
    });
    first
}
