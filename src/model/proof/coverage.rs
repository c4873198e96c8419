//! Which lines and branches of the scripts ran.

use serde::Serialize;

/// A kind of branch.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BranchKind {
    /// What an `if` does where its condition holds.
    Then,
    /// Its `else`.
    Else,
    /// Its `else`, where none is written.
    NoElse,
    /// The body of a loop, run at least once.
    BodyRun,
    /// The body of a loop, not run at all.
    BodyNotRun,
    /// The right side of `&&`, `||` or `??`.
    RightSide,
}

impl BranchKind {
    /// In words, after "line 7: ".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Then => "the `if` that holds",
            Self::Else => "`else`",
            Self::NoElse => "the `if` that does not hold, without an `else`",
            Self::BodyRun => "the loop's body",
            Self::BodyNotRun => "the loop whose body does not run",
            Self::RightSide => "the right side",
        }
    }
}

/// A branch of a script, and how often it ran.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Branch {
    /// Its line.
    pub line: usize,
    /// Branches of one decision have one group.
    pub group: usize,
    /// Its kind.
    pub kind: BranchKind,
    /// How often it ran.
    pub runs: u64,
    /// Whether its decision was come to at all.
    pub reached: bool,
}

/// A line on which a statement begins, and how often it ran.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
pub struct Line {
    /// Which.
    pub line: usize,
    /// How often it ran.
    pub runs: u64,
}

/// A script file.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Script {
    /// The file.
    pub file: String,
    /// Its lines.
    #[serde(skip)]
    pub lines: Vec<Line>,
    /// Its branches, in the order of the text.
    pub branches: Vec<Branch>,
}

impl Script {
    /// The branches that never ran.
    pub fn never_ran(&self) -> impl Iterator<Item = &Branch> {
        self.branches.iter().filter(|branch| branch.runs == 0)
    }

    /// Adds what other runs of the same file did.
    fn add(&mut self, other: &Self) {
        for (mine, theirs) in self.lines.iter_mut().zip(&other.lines) {
            mine.runs += theirs.runs;
        }
        for (mine, theirs) in self.branches.iter_mut().zip(&other.branches) {
            mine.runs += theirs.runs;
            mine.reached |= theirs.reached;
        }
    }
}

/// The counts of some runs of a procedure.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize)]
pub struct Coverage {
    /// How many runs were counted.
    pub runs: u64,
    /// The procedure's own file; none where nothing was counted.
    pub procedure: Option<Script>,
    /// The library files that it uses.
    pub libraries: Vec<Script>,
}

impl Coverage {
    /// How many branches of the procedure's own file never ran.
    pub fn never_ran(&self) -> usize {
        self.procedure.as_ref().map_or(0, |script| script.never_ran().count())
    }

    /// Every file.
    pub fn scripts(&self) -> impl Iterator<Item = &Script> {
        self.procedure.iter().chain(&self.libraries)
    }

    /// Adds these library files to a list of what several procedures use.
    pub fn add_libraries_to(&self, list: &mut Vec<Script>) {
        for library in &self.libraries {
            match list.iter_mut().find(|known| known.file == library.file) {
                Some(known) => known.add(library),
                None => list.push(library.clone()),
            }
        }
    }
}
