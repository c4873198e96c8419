//! A procedure whose lines and branches are counted while it runs.

use super::plant::{Counter, Names, Planted, counters_in, plant};
use crate::model::proof::coverage::{Branch, BranchKind, Coverage, Line, Script};
use crate::script::procedure::Procedure;
use rhai::{FuncRegistration, INT, Module, Shared};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// How often each counter was come to.
type Counts = Arc<[AtomicU64]>;

/// A procedure with counters. What it asks and concludes is what it would without.
pub struct Counted {
    /// The same procedure, with counters planted.
    pub procedure: Arc<Procedure>,
    counts: Counts,
    runs: AtomicU64,
    /// The file of each script with what was planted, the procedure's own first.
    planted: Vec<(String, Planted)>,
}

impl Counted {
    /// Plants counters. `None` where the engine does not take the text with them; then nothing is counted.
    pub fn of(procedure: &Procedure) -> Option<Self> {
        // A statement may begin where this does not see it; a branch is always seen.
        Self::planted(procedure, true).or_else(|| Self::planted(procedure, false))
    }

    fn planted(procedure: &Procedure, with_lines: bool) -> Option<Self> {
        let texts = procedure.texts();
        let names = Names::for_texts(texts.iter().map(|source| source.text.as_str()));
        let mut planted = Vec::with_capacity(texts.len());
        let mut next = 0;
        for source in texts {
            let ast = procedure.not_optimized(&source.text)?;
            let one = plant(&source.text, &ast, &names, next, with_lines);
            next = next.max(one.next);
            planted.push((source.file.clone(), one));
        }
        let counts: Counts = (0..next).map(|_| AtomicU64::new(0)).collect();
        let texts: Vec<&str> = planted.iter().map(|(_, planted)| planted.text.as_str()).collect();
        let counting = Shared::new(functions(&names, &counts));
        let (with_counters, scripts) = procedure.with_texts(&texts, counting)?;
        for ((_, planted), ast) in planted.iter_mut().zip(scripts) {
            let found = counters_in(&ast, &names);
            planted.sites.retain(|site| found.contains(&site.counter));
            planted.lines.retain(|_, counter| found.contains(counter));
        }
        Some(Self { procedure: Arc::new(with_counters), counts, runs: AtomicU64::new(0), planted })
    }

    /// A run is over.
    pub fn ran(&self) {
        self.runs.fetch_add(1, Ordering::Relaxed);
    }

    /// The counts so far.
    pub fn coverage(&self) -> Coverage {
        let mut scripts = self.planted.iter().map(|(file, planted)| self.script(file, planted));
        Coverage { runs: self.runs.load(Ordering::Relaxed), procedure: scripts.next(), libraries: scripts.collect() }
    }

    fn count(&self, counter: Counter) -> u64 {
        self.counts.get(counter).map_or(0, |count| count.load(Ordering::Relaxed))
    }

    fn script(&self, file: &str, planted: &Planted) -> Script {
        let lines = planted.lines.iter().map(|(line, counter)| Line { line: *line, runs: self.count(*counter) });
        let branches = planted.sites.iter().map(|site| {
            let runs = self.count(site.counter);
            let reached = match site.kind {
                BranchKind::RightSide => site.within.map_or(runs, |within| self.count(within)) > 0,
                _ => planted.sites.iter().any(|other| other.group == site.group && self.count(other.counter) > 0),
            };
            Branch { line: site.line, group: site.group, kind: site.kind, runs, reached: reached || runs > 0 }
        });
        Script { file: file.to_owned(), lines: lines.collect(), branches: branches.collect() }
    }
}

/// The functions that count.
fn functions(names: &Names, counts: &Counts) -> Module {
    let mut module = Module::new();
    let count = |counts: &Counts| {
        let counts = Arc::clone(counts);
        move |counter: INT| {
            if let Some(count) = usize::try_from(counter).ok().and_then(|counter| counts.get(counter)) {
                count.fetch_add(1, Ordering::Relaxed);
            }
        }
    };
    let named = |name: String| FuncRegistration::new(name).in_global_namespace().with_volatility(true);
    let one = count(counts);
    named(names.passed()).set_into_module(&mut module, move |counter: INT| one(counter));
    let one = count(counts);
    named(names.yes()).set_into_module(&mut module, move |counter: INT| {
        one(counter);
        true
    });
    let one = count(counts);
    named(names.no()).set_into_module(&mut module, move |counter: INT| {
        one(counter);
        false
    });
    let one = count(counts);
    named(names.body()).set_into_module(&mut module, move |counter: INT, ran: bool| {
        if !ran {
            one(counter);
        }
        true
    });
    let one = count(counts);
    named(names.after()).set_into_module(&mut module, move |counter: INT, ran: bool| {
        if !ran {
            one(counter);
        }
    });
    module.build_index();
    module
}
