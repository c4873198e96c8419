//! What a script does with its prompts and answers that can't be right, whatever is answered: found before a record is begun.

use super::diagnose;
use super::function_doc::{FunctionDoc, Kind};
use super::function_docs as known_words;
use super::walk::{Found, PROMPTS, hint, literal_texts, visit};
use crate::model::unit::Unit;
use crate::model::words;
use rhai::{AST, ASTNode, Dynamic, Expr, FnCallExpr, Position, Stmt};
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// Properties that nothing has. What the scripts themselves put into maps counts as known; a library file may ask of a map
/// that it is given what this procedure does not put into it, so there only a slip of one letter counts.
pub(super) fn properties(ast: &AST, scripts: &[&AST], is_library: bool, found: &mut Vec<Found>) {
    // Most scripts have a few properties, each many times: nothing is made of all that there are.
    let known = || known_words::properties().map(|word| word.name).chain(known_words::fields());
    let mut well_known: BTreeSet<String> = BTreeSet::new();
    let mut unknown: Vec<(String, Position, bool)> = Vec::new();
    let mut of_numbers: HashSet<Position> = HashSet::new();
    let mut of_items: HashSet<Position> = HashSet::new();
    visit(ast, &mut |node| match node {
        // `list[1].value` has its number in the brackets.
        ASTNode::Expr(Expr::Index(sides, ..)) => {
            if let Expr::Dot(item, ..) = &sides.rhs {
                of_items.insert(item.rhs.position());
            }
        }
        ASTNode::Expr(Expr::Dot(sides, ..)) => {
            if let (Expr::FloatConstant(..) | Expr::IntegerConstant(..), Expr::Property(_, position)) =
                (&sides.lhs, &sides.rhs)
            {
                of_numbers.insert(*position);
            }
        }
        ASTNode::Expr(Expr::Property(property, position)) => {
            let name = property.2.as_str();
            let is_number = of_numbers.contains(position) && !of_items.contains(position);
            if !is_number && well_known.contains(name) {
                return;
            }
            if is_unit(name) || !is_number && known().any(|known| known == name) {
                well_known.insert(name.to_owned());
            } else {
                unknown.push((name.to_owned(), *position, is_number));
            }
        }
        _ => {}
    });
    unknown.retain(|(name, ..)| known_words::takes(name).is_empty());
    if unknown.is_empty() {
        return;
    }
    let made = made_by(scripts);
    for (name, position, is_number) in unknown {
        if is_number {
            let advice = diagnose::unit_meant(&name).map(|unit| format!("did you mean `.{unit}`?"));
            found.push((position, format!("a bare number has no `.{name}`"), advice));
        } else if !made.contains(&name) && (!is_library || known().any(|known| one_off(&name, known))) {
            let all: Vec<&str> = known().map(|known: &str| known).chain(made.iter().map(String::as_str)).collect();
            let nearest = words::nearest(&name, all);
            let meant = nearest.or_else(|| diagnose::unit_meant(&name));
            let advice = meant.map(|name| format!("did you mean `.{name}`?"));
            found.push((position, format!("nothing has a property `.{name}`"), advice));
        }
    }
}

/// Whether a number takes this unit after its point.
fn is_unit(name: &str) -> bool {
    name.parse::<Unit>().is_ok_and(|unit| unit.word() == name)
}

fn one_off(name: &str, known: &str) -> bool {
    strsim::damerau_levenshtein(name, known) <= 1
}

/// Names that scripts may give to what is in a map: keys, what is assigned to after a point, and every text.
pub(super) fn made_by(scripts: &[&AST]) -> BTreeSet<String> {
    let mut made = BTreeSet::new();
    for ast in scripts {
        visit(ast, &mut |node| match node {
            ASTNode::Expr(Expr::Map(entries, _)) => {
                made.extend(entries.0.iter().map(|(name, _)| name.name.to_string()));
                made.extend(entries.1.keys().map(ToString::to_string));
            }
            ASTNode::Expr(Expr::DynamicConstant(value, _)) => keys_in(value, &mut made),
            ASTNode::Expr(Expr::StringConstant(text, _)) => _ = made.insert(text.to_string()),
            ASTNode::Stmt(Stmt::Assignment(sides)) => {
                sides.1.lhs.walk(&mut Vec::new(), &mut |path: &[ASTNode]| {
                    if let Some(ASTNode::Expr(Expr::Property(property, _))) = path.last() {
                        made.insert(property.2.to_string());
                    }
                    true
                });
            }
            _ => {}
        });
    }
    made
}

fn keys_in(value: &Dynamic, made: &mut BTreeSet<String>) {
    if let Some(map) = value.read_lock::<rhai::Map>() {
        made.extend(map.keys().map(ToString::to_string));
        map.values().for_each(|value| keys_in(value, made));
    } else if let Some(list) = value.read_lock::<rhai::Array>() {
        list.iter().for_each(|value| keys_in(value, made));
    } else if let Some(text) = value.read_lock::<rhai::ImmutableString>() {
        made.insert(text.to_string());
    }
}

/// Ids that are asked for again after they surely were, and options that a choice does not have: in the script itself,
/// whose statements come one after the other.
pub(super) fn course(ast: &AST, found: &mut Vec<Found>) {
    let mut asked: BTreeSet<String> = BTreeSet::new();
    let mut asked_into: BTreeMap<String, Option<Question>> = BTreeMap::new();
    let mut compared: Vec<(String, Constant, Position)> = Vec::new();
    let mut properties: Vec<(String, String, Position)> = Vec::new();
    let mut conditions: Vec<(String, Position)> = Vec::new();
    for statement in ast.statements() {
        statement.walk(&mut Vec::new(), &mut |path: &[ASTNode]| {
            let Some((node, above)) = path.split_last() else { return true };
            match node {
                ASTNode::Stmt(Stmt::Var(declared, ..)) => {
                    let name = declared.0.name.to_string();
                    let question = Question::of(&declared.1);
                    let known = asked_into.entry(name).or_insert_with(|| question.clone());
                    if *known != question {
                        *known = None;
                    }
                }
                ASTNode::Stmt(Stmt::Assignment(sides)) => {
                    if let Expr::Variable(variable, ..) = &sides.1.lhs {
                        asked_into.insert(variable.1.to_string(), None);
                    }
                }
                ASTNode::Stmt(Stmt::If(parts, _)) => {
                    if let Expr::Variable(variable, _, position) = &parts.expr {
                        conditions.push((variable.1.to_string(), *position));
                    }
                }
                ASTNode::Expr(Expr::Dot(sides, ..)) => {
                    if let (Expr::Variable(variable, ..), Expr::Property(property, position)) = (&sides.lhs, &sides.rhs)
                    {
                        properties.push((variable.1.to_string(), property.2.to_string(), *position));
                    }
                }
                ASTNode::Stmt(Stmt::FnCall(call, _)) | ASTNode::Expr(Expr::FnCall(call, _)) => {
                    compared.extend(comparison(call));
                    if let Some((id, position)) = asks(call) {
                        if asked.contains(id) {
                            found.push((
                                position,
                                format!("the id `{id}` was used before: every prompt needs one of its own"),
                                Some(format!("call it by what sets it apart, as `{id}_loaded`")),
                            ));
                        } else if !above.iter().any(may_be_left_out) {
                            asked.insert(id.to_owned());
                        }
                    }
                }
                _ => {}
            }
            true
        });
    }
    let known = |name: &String| asked_into.get(name).and_then(Option::as_ref);
    let called = |name: &str| format!("`{name}`");
    for (name, with, position) in compared {
        found.extend(known(&name).and_then(|question| question.compared(&called(&name), &with, position)));
    }
    for (name, property, position) in properties {
        found.extend(known(&name).and_then(|question| question.property(&property, position)));
    }
    for (name, position) in conditions {
        found.extend(known(&name).and_then(|question| question.condition(&called(&name), position)));
    }
}

/// Questions whose answers are looked at where they are asked: `ask(…) == true`, `choose(…).yes`, `if ask(…)`.
pub(super) fn of_questions(ast: &AST, found: &mut Vec<Found>) {
    visit(ast, &mut |node| match node {
        ASTNode::Stmt(Stmt::FnCall(call, _)) | ASTNode::Expr(Expr::FnCall(call, _)) if is_comparison(call) => {
            if let [one, other] = call.args.as_slice() {
                for (asked, with) in [(one, other), (other, one)] {
                    if let (Some(question), Some((with, position))) = (Question::of(asked), Constant::of(with)) {
                        found.extend(question.compared("this", &with, position));
                    }
                }
            }
        }
        ASTNode::Stmt(Stmt::If(parts, _)) => {
            found.extend(Question::of(&parts.expr).and_then(|asked| asked.condition("this", parts.expr.position())));
        }
        ASTNode::Expr(Expr::Dot(sides, ..)) => {
            if let (Some(question), Expr::Property(property, position)) = (Question::of(&sides.lhs), &sides.rhs) {
                found.extend(question.property(&property.2, *position));
            }
        }
        _ => {}
    });
}

/// A question that a person answers by looking.
#[derive(Clone, PartialEq)]
enum Question {
    /// `ask`.
    YesNo,
    /// `choose`, with its options where all of them stand there.
    Choice(Option<Vec<String>>),
}

impl Question {
    fn of(given: &Expr) -> Option<Self> {
        let Expr::FnCall(call, _) = given else { return None };
        match call.name.as_str() {
            _ if !call.namespace.is_empty() => None,
            "ask" => Some(Self::YesNo),
            "choose" => Some(Self::Choice(options_of(call))),
            _ => None,
        }
    }

    const fn kind(&self) -> Kind {
        match self {
            Self::YesNo => Kind::YesNo,
            Self::Choice(_) => Kind::Choice,
        }
    }

    const fn in_words(&self) -> &'static str {
        match self {
            Self::YesNo => "a yes or no",
            Self::Choice(_) => "a choice",
        }
    }

    /// How it is looked at.
    fn advice(&self) -> String {
        match self {
            Self::YesNo => "write `.yes` or `.no`".to_owned(),
            Self::Choice(Some(options)) => {
                let options: Vec<String> = options.iter().map(|option| format!("\"{option}\"")).collect();
                format!("compare it by `==` with {}", words::either(&options))
            }
            Self::Choice(None) => "compare it by `==` with one of its texts".to_owned(),
        }
    }

    fn compared(&self, name: &str, with: &Constant, position: Position) -> Option<Found> {
        match (self, with) {
            (Self::Choice(options), Constant::Text(option)) => {
                let options = options.as_ref().filter(|options| !options.contains(option))?;
                let nearest = words::nearest(option, options.iter().map(String::as_str));
                let advice = hint(nearest).unwrap_or_else(|| format!("it is one of {}", options.join(", ")));
                Some((position, format!("{name} has no option \"{option}\""), Some(advice)))
            }
            (_, with) => {
                let title = format!("can't compare {} with {}", self.in_words(), with.in_words());
                Some((position, title, Some(self.advice())))
            }
        }
    }

    fn property(&self, property: &str, position: Position) -> Option<Found> {
        let has = |word: &FunctionDoc| word.of == Some(self.kind()) && word.name == property;
        // What nothing has is said already.
        let is_of_another = known_words::properties().any(|word| word.name == property);
        if !is_of_another || known_words::properties().any(has) {
            return None;
        }
        let title = format!("{} has no `.{property}`", self.in_words());
        Some((position, title, Some(self.advice())))
    }

    fn condition(&self, name: &str, position: Position) -> Option<Found> {
        Some((position, format!("{name} is {}, which is neither true nor false", self.in_words()), Some(self.advice())))
    }
}

/// What an answer is compared with, where it stands there.
enum Constant {
    Text(String),
    Number(String),
    TrueOrFalse(bool),
}

impl Constant {
    fn of(given: &Expr) -> Option<(Self, Position)> {
        Some(match given {
            Expr::StringConstant(text, position) => (Self::Text(text.to_string()), *position),
            Expr::IntegerConstant(number, position) => (Self::Number(number.to_string()), *position),
            Expr::FloatConstant(number, position) => (Self::Number(number.to_string()), *position),
            Expr::BoolConstant(is, position) => (Self::TrueOrFalse(*is), *position),
            _ => return None,
        })
    }

    fn in_words(&self) -> String {
        match self {
            Self::Text(text) => format!("the text \"{text}\""),
            Self::Number(number) => format!("the bare number {number}"),
            Self::TrueOrFalse(is) => is.to_string(),
        }
    }
}

fn asks(call: &FnCallExpr) -> Option<(&str, Position)> {
    if !call.namespace.is_empty() || !PROMPTS.contains(&call.name.as_str()) {
        return None;
    }
    match call.args.first() {
        Some(Expr::StringConstant(id, position)) => Some((id.as_str(), *position)),
        _ => None,
    }
}

/// Whether what is in it is not run every time.
fn may_be_left_out(node: &ASTNode<'_>) -> bool {
    matches!(
        node,
        ASTNode::Stmt(
            Stmt::If(..) | Stmt::Switch(..) | Stmt::While(..) | Stmt::Do(..) | Stmt::For(..) | Stmt::TryCatch(..)
        ) | ASTNode::Expr(Expr::And(..) | Expr::Or(..) | Expr::Coalesce(..))
    )
}

/// The options of `choose("id", "text", ["one", "two"])`, where all of them stand there.
fn options_of(call: &FnCallExpr) -> Option<Vec<String>> {
    let list = call.args.get(2)?;
    let written = match list {
        Expr::Array(items, _) => items.len(),
        Expr::DynamicConstant(value, _) => value.read_lock::<rhai::Array>()?.len(),
        _ => return None,
    };
    let options: Vec<String> = literal_texts(Some(list)).into_iter().map(|(text, _)| text).collect();
    (options.len() == written).then_some(options)
}

fn is_comparison(call: &FnCallExpr) -> bool {
    matches!(call.name.as_str(), "==" | "!=")
}

/// A variable that is compared with something that stands there.
fn comparison(call: &FnCallExpr) -> Option<(String, Constant, Position)> {
    if !is_comparison(call) {
        return None;
    }
    match call.args.as_slice() {
        [Expr::Variable(variable, ..), other] | [other, Expr::Variable(variable, ..)] => {
            Constant::of(other).map(|(with, position)| (variable.1.to_string(), with, position))
        }
        _ => None,
    }
}

/// Prompts whose words say AC volts and that are read as DC: the meter shows about zero, or what is direct.
pub(super) fn alternating(ast: &AST, found: &mut Vec<Found>) {
    visit(ast, &mut |node| {
        let (ASTNode::Stmt(Stmt::FnCall(call, _)) | ASTNode::Expr(Expr::FnCall(call, _))) = node else { return };
        if !call.namespace.is_empty() || !matches!(call.name.as_str(), "read" | "sweep" | "lowest_highest") {
            return;
        }
        let Some(Expr::StringConstant(text, position)) = call.args.get(1) else { return };
        if says_ac_volts(text) {
            let title = format!("the prompt says AC volts, and `{}` reads DC", call.name);
            found.push((*position, title, Some("ask for them with `read_ac(id, text, limits, leads)`".to_owned())));
        }
    });
}

/// Whether these words ask for AC volts and not for DC. `AC` alone may be the air conditioning.
fn says_ac_volts(text: &str) -> bool {
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_volts = |word: &str| {
        matches!(word.to_lowercase().as_str(), "volt" | "volts" | "voltage" | "millivolts" | "v" | "mv" | "ripple")
    };
    let says = words.windows(2).any(|pair| match pair {
        ["AC", other] | [other, "AC"] => is_volts(other),
        _ => false,
    });
    (says || words.contains(&"VAC")) && !words.contains(&"DC")
}

/// Zones that stand literally in a script and that no caution knows.
pub(super) fn unknown_zones(ast: &AST, known: &BTreeSet<&str>, found: &mut Vec<Found>) {
    visit(ast, &mut |node| {
        let (ASTNode::Stmt(Stmt::FnCall(call, _)) | ASTNode::Expr(Expr::FnCall(call, _))) = node else { return };
        if !call.namespace.is_empty() || call.name != "near" {
            return;
        }
        for (zone, position) in call.args.iter().flat_map(|argument| literal_texts(Some(argument))) {
            if known.contains(zone.as_str()) {
                continue;
            }
            let all: Vec<&str> = known.iter().copied().collect();
            let nearest = words::nearest(&zone, all.iter().copied());
            let advice = hint(nearest).unwrap_or_else(|| format!("zones are {}", words::all(&all)));
            found.push((position, format!("`{zone}` is not a zone that a caution knows"), Some(advice)));
        }
    });
}
