//! Walking through a script without running it, and what is found on the way.

use rhai::{AST, ASTNode, Expr, FnCallExpr, Position, Stmt};

/// Functions that ask, each with the id as its first argument.
pub(super) const PROMPTS: [&str; 10] = [
    "read",
    "read_diode",
    "read_ac",
    "read_number",
    "module_shows",
    "sweep",
    "lowest_highest",
    "ask",
    "choose",
    "note",
];

/// Something that can't be right: where, what, and what to do.
pub(super) type Found = (Position, String, Option<String>);

/// Walks a script, `break EXPR` included, where the engine's own walk does not go.
pub(super) fn visit(ast: &AST, see: &mut dyn FnMut(&ASTNode)) {
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

pub(super) fn call_of<'a>(node: &ASTNode<'a>) -> Option<(&'a FnCallExpr, Position, usize)> {
    match node {
        ASTNode::Stmt(Stmt::FnCall(call, position)) | ASTNode::Expr(Expr::FnCall(call, position)) => {
            Some((call, *position, 0))
        }
        ASTNode::Expr(Expr::MethodCall(call, position)) => Some((call, *position, 1)),
        _ => None,
    }
}

pub(super) fn hint(nearest: Option<String>) -> Option<String> {
    nearest.map(|name| format!("did you mean `{name}`?"))
}

/// The texts that stand literally in an argument: a text, or a list of texts.
pub(super) fn literal_texts(argument: Option<&Expr>) -> Vec<(String, Position)> {
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
