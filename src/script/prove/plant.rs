//! Counters planted into a script's text, each on the line that it counts, so that which lines and branches run can be told.

use super::mask::mask;
use crate::model::proof::coverage::BranchKind;
use crate::script::{place, walk};
use rhai::{AST, ASTNode, Expr, Position, Stmt, StmtBlock};
use std::collections::{BTreeMap, BTreeSet};

/// A counter's number.
pub(super) type Counter = usize;

/// A branch, and what counts it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Site {
    pub line: usize,
    pub group: usize,
    pub kind: BranchKind,
    pub counter: Counter,
    /// Of a right side: the counter of the statement in which it stands.
    pub within: Option<Counter>,
}

/// A text with counters.
pub(super) struct Planted {
    pub text: String,
    pub sites: Vec<Site>,
    /// Lines with the counter of each.
    pub lines: BTreeMap<usize, Counter>,
    /// The first number that is still free.
    pub next: Counter,
}

/// What the counters are called: a name that no script has.
#[derive(Clone)]
pub(super) struct Names(String);

impl Names {
    /// A name that stands in none of these texts.
    pub(super) fn for_texts<'a>(texts: impl Iterator<Item = &'a str> + Clone) -> Self {
        let mut name = "counts".to_owned();
        while texts.clone().any(|text| text.contains(&name)) {
            name.push('_');
        }
        Self(name)
    }

    /// Counts, and is nothing.
    pub(super) fn passed(&self) -> String {
        format!("{}_passed", self.0)
    }

    /// Counts, and is true.
    pub(super) fn yes(&self) -> String {
        format!("{}_yes", self.0)
    }

    /// Counts, and is false.
    pub(super) fn no(&self) -> String {
        format!("{}_no", self.0)
    }

    /// Counts where a loop has not run before; it has then.
    pub(super) fn body(&self) -> String {
        format!("{}_body", self.0)
    }

    /// Counts where a loop did not run.
    pub(super) fn after(&self) -> String {
        format!("{}_after", self.0)
    }
}

/// Plants counters, numbered from `first` on. `ast` is the text's, not optimized; `with_lines` also counts statements.
pub(super) fn plant(text: &str, ast: &AST, names: &Names, first: Counter, with_lines: bool) -> Planted {
    let mut plants = Plants {
        text,
        masked: mask(text),
        names,
        next: first,
        groups: 0,
        puts: vec![],
        sites: vec![],
        lines: BTreeMap::new(),
        arms: BTreeMap::new(),
        begun: BTreeMap::new(),
        chained: BTreeMap::new(),
    };
    walk::visit(ast, &mut |node| match node {
        ASTNode::Stmt(Stmt::If(flow, at)) => plants.branch_of_if(&flow.body, &flow.branch, *at),
        ASTNode::Stmt(Stmt::While(flow, at)) if !matches!(flow.expr, Expr::Unit(..)) => {
            plants.branch_of_loop(&flow.body, *at);
        }
        ASTNode::Stmt(Stmt::For(parts, at)) => plants.branch_of_loop(&parts.2.body, *at),
        _ => {}
    });
    if with_lines {
        // Those of the script itself and of its functions.
        ast.walk(&mut |path: &[ASTNode]| {
            if let [ASTNode::Stmt(statement)] = path {
                plants.statements(std::slice::from_ref(*statement));
            }
            true
        });
        walk::visit(ast, &mut |node| match node {
            ASTNode::Stmt(Stmt::If(flow, _) | Stmt::While(flow, _) | Stmt::Do(flow, ..) | Stmt::TryCatch(flow, _)) => {
                plants.statements_of(&flow.body);
                plants.statements_of(&flow.branch);
            }
            ASTNode::Stmt(Stmt::For(parts, _)) => plants.statements_of(&parts.2.body),
            ASTNode::Stmt(Stmt::Block(block)) | ASTNode::Expr(Expr::Stmt(block)) => plants.statements_of(block),
            _ => {}
        });
    }
    plants.right_sides();
    plants.done()
}

struct Plants<'a> {
    text: &'a str,
    masked: Vec<u8>,
    names: &'a Names,
    next: Counter,
    groups: usize,
    /// What is put where; at one place, the lower number comes first.
    puts: Vec<(usize, u8, String)>,
    sites: Vec<Site>,
    lines: BTreeMap<usize, Counter>,
    /// Open braces with a counter after them.
    arms: BTreeMap<usize, Counter>,
    /// Where statements begin, with what counts them.
    begun: BTreeMap<usize, Counter>,
    /// Where the `if` of an `else if` stands, with the group of the whole chain.
    chained: BTreeMap<usize, usize>,
}

impl Plants<'_> {
    fn offset(&self, position: Position) -> Option<usize> {
        position.line()?;
        let at = place::span(self.text, position).start;
        (at < self.masked.len()).then_some(at)
    }

    /// Where this sign stands, if it does stand there in the code.
    fn sign(&self, position: Position, sign: u8) -> Option<usize> {
        self.offset(position).filter(|at| self.masked[*at] == sign)
    }

    fn line_of(&self, at: usize) -> usize {
        1 + self.text.as_bytes()[..at].iter().filter(|byte| **byte == b'\n').count()
    }

    fn counter(&mut self) -> Counter {
        self.next += 1;
        self.next - 1
    }

    fn put(&mut self, at: usize, order: u8, what: String) {
        self.puts.push((at, order, what));
    }

    fn site(&mut self, at: usize, group: usize, kind: BranchKind, counter: Counter, within: Option<Counter>) {
        let line = self.line_of(at);
        self.sites.push(Site { line, group, kind, counter, within });
    }

    fn branch_of_if(&mut self, body: &StmtBlock, branch: &StmtBlock, at: Position) {
        let (Some(at), Some(open), Some(close)) =
            (self.offset(at), self.sign(body.position(), b'{'), self.sign(body.end_position(), b'}'))
        else {
            return;
        };
        let passed = self.names.passed();
        let group = self.chained.get(&at).copied().unwrap_or_else(|| {
            self.groups += 1;
            self.groups - 1
        });
        let then = self.counter();
        self.put(open + 1, 0, format!(" {passed}({then});"));
        self.arms.insert(open, then);
        self.site(at, group, BranchKind::Then, then, None);
        let next = self.after_blanks(close + 1);
        if !self.masked[next..].starts_with(b"else") {
            let otherwise = self.counter();
            self.put(close + 1, 0, format!(" else {{ {passed}({otherwise}); }}"));
            self.site(at, group, BranchKind::NoElse, otherwise, None);
            return;
        }
        let next = self.after_blanks(next + 4);
        if self.masked.get(next) == Some(&b'{') {
            let otherwise = self.counter();
            self.put(next + 1, 0, format!(" {passed}({otherwise});"));
            self.arms.insert(next, otherwise);
            let line_at = self.sign(branch.position(), b'{').unwrap_or(next);
            self.site(line_at, group, BranchKind::Else, otherwise, None);
        } else {
            self.chained.insert(next, group);
        }
    }

    fn branch_of_loop(&mut self, body: &StmtBlock, at: Position) {
        let (Some(at), Some(open), Some(close)) =
            (self.offset(at), self.sign(body.position(), b'{'), self.sign(body.end_position(), b'}'))
        else {
            return;
        };
        let (run, not_run) = (self.counter(), self.counter());
        let (ran, value) = (format!("ran_{}_{run}", self.names.0), format!("value_{}_{run}", self.names.0));
        self.put(at, 1, format!("{{ let {ran} = false; let {value} = "));
        self.put(open + 1, 0, format!(" {ran} = {}({run}, {ran});", self.names.body()));
        self.put(close + 1, 0, format!("; {}({not_run}, {ran}); {value} }}", self.names.after()));
        self.arms.insert(open, run);
        let group = self.groups;
        self.groups += 1;
        self.site(at, group, BranchKind::BodyRun, run, None);
        self.site(at, group, BranchKind::BodyNotRun, not_run, None);
    }

    fn after_blanks(&self, mut at: usize) -> usize {
        while self.masked.get(at).is_some_and(u8::is_ascii_whitespace) {
            at += 1;
        }
        at
    }

    fn statements_of(&mut self, block: &StmtBlock) {
        // What has no braces of its own is part of another statement.
        if self.sign(block.position(), b'{').is_some() {
            self.statements(block.statements());
        }
    }

    fn statements(&mut self, statements: &[Stmt]) {
        for statement in statements {
            let Some(start) = self.offset(statement.position()).and_then(|at| self.start_of_statement(at)) else {
                continue;
            };
            if self.begun.contains_key(&start) || self.masked[start..].starts_with(b"else") {
                continue;
            }
            let before = self.masked[..start].iter().rposition(|byte| !byte.is_ascii_whitespace());
            let counter = match before.and_then(|before| self.arms.get(&before)) {
                Some(arm) => *arm,
                None => {
                    let counter = self.counter();
                    let passed = self.names.passed();
                    self.put(start, 0, format!("{passed}({counter}); "));
                    counter
                }
            };
            self.begun.insert(start, counter);
            let line = self.line_of(start);
            self.lines.entry(line).or_insert(counter);
        }
    }

    /// Where the statement begins to which this place belongs.
    fn start_of_statement(&self, at: usize) -> Option<usize> {
        let mut depth = 0_usize;
        for before in (0..at).rev() {
            match self.masked[before] {
                b')' | b']' => depth += 1,
                b'(' | b'[' => depth = depth.checked_sub(1)?,
                b'{' | b'}' | b';' if depth == 0 => return Some(self.after_blanks(before + 1)),
                _ => {}
            }
        }
        Some(self.after_blanks(0))
    }

    /// The right sides of `&&`, `||` and `??`, told from the empty brackets of a function by what stands before them.
    fn right_sides(&mut self) {
        for at in 0..self.masked.len().saturating_sub(1) {
            let sign = &self.masked[at..at + 2];
            let (name, sign) = match sign {
                b"&&" => (self.names.yes(), "&&"),
                b"||" => (self.names.no(), "||"),
                b"??" => (self.names.passed(), "??"),
                _ => continue,
            };
            let before = self.masked[..at].iter().rfind(|byte| !byte.is_ascii_whitespace());
            let ends_something =
                before.is_some_and(|byte| byte.is_ascii_alphanumeric() || b"_)]}".contains(byte) || !byte.is_ascii());
            if !ends_something {
                continue;
            }
            let within = self.begun.range(..=at).next_back().map(|(_, counter)| *counter);
            let counter = self.counter();
            self.put(at + 2, 0, format!(" {name}({counter}) {sign}"));
            let group = self.groups;
            self.groups += 1;
            self.site(at, group, BranchKind::RightSide, counter, within);
        }
    }

    fn done(mut self) -> Planted {
        self.puts.sort_by_key(|(at, order, _)| (*at, *order));
        let mut text = String::with_capacity(self.text.len() * 2);
        let mut from = 0;
        for (at, _, what) in &self.puts {
            text.push_str(&self.text[from..*at]);
            text.push_str(what);
            from = *at;
        }
        text.push_str(&self.text[from..]);
        self.sites.sort_by_key(|site| (site.line, site.group));
        Planted { text, sites: self.sites, lines: self.lines, next: self.next }
    }
}

/// The numbers of the counters that a script calls: what the engine does not see as a call counts nothing.
pub(super) fn counters_in(ast: &AST, names: &Names) -> BTreeSet<Counter> {
    let mut found = BTreeSet::new();
    let ours = [names.passed(), names.yes(), names.no(), names.body(), names.after()];
    walk::visit(ast, &mut |node| {
        if let Some((call, ..)) = walk::call_of(node)
            && ours.iter().any(|name| *name == call.name.as_str())
            && let Some(Expr::IntegerConstant(counter, _)) = call.args.first()
        {
            found.extend(usize::try_from(*counter));
        }
    });
    found
}
