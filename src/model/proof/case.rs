//! One case of a proof: what was in, and how its runs came out.

use crate::model::diagnostic::Diagnostic;
use crate::model::event::Entry;
use serde::Serialize;
use std::collections::BTreeMap;

/// How one run came out, held against what was in the circuit. For the check after the repair the words in brackets.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Judgement {
    /// A cause that is there was named, by itself or among several. (Well was called well, or a fault that is still in was not.)
    Right,
    /// Something was named, and none of it is there: a good part would be condemned. (Well was called still wrong.)
    Wrong,
    /// The procedure found nothing although something is there. (A fault that is still in was called repaired.)
    Missed,
    /// It came to no conclusion. (With a fault still in that is honest: nothing was called repaired.)
    NoConclusion,
    /// The procedure found nothing, and the fault need not show: the circuit lists `not_present` among its causes, or it shows
    /// by no more than the meter may err. (It was called repaired.)
    NotShown,
    /// Nothing that was named is there, and none of it replaces a part.
    SentElsewhere,
}

/// Runs with a fault that nobody notices.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Hidden {
    /// Vehicles on which the fault shows with none of its draws.
    pub vehicles: u64,
    /// How runs with draws that do not show came out: to find nothing, or the fault, is right.
    pub judged: BTreeMap<Judgement, u64>,
}

/// Runs of a case that could not be made.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct NotAsked {
    /// How many.
    pub runs: u64,
    /// The vehicle of the first.
    pub seed: u64,
    /// Why the circuit could not answer in the first of them.
    pub problem: String,
    /// In which file, where that is known.
    pub file: Option<String>,
    /// On which line of it.
    pub line: Option<usize>,
}

impl NotAsked {
    /// The first of them, before it is counted.
    pub fn new(seed: u64, problem: Diagnostic) -> Self {
        let line = problem.line();
        Self { runs: 0, seed, problem: problem.title, file: problem.place.map(|place| place.file), line }
    }

    /// The problem with its place.
    pub fn words(&self) -> String {
        match (&self.file, self.line) {
            (Some(file), Some(line)) => format!("{file}:{line}: {}", self.problem),
            _ => self.problem.clone(),
        }
    }
}

/// A healthy circuit, one fault, or two.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Case {
    /// The faults that are in; none for the healthy circuit.
    pub faults: Vec<String>,
    /// The causes that may rightly be named.
    pub causes: Vec<String>,
    /// How common it is.
    pub how_common: f64,
    /// Runs that the circuit could be asked for.
    pub runs: u64,
    /// The others, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_asked: Option<NotAsked>,
    /// Runs with draws that nobody notices; they are counted here alone.
    pub hidden: Hidden,
    /// How many of them came out how.
    pub judged: BTreeMap<Judgement, u64>,
    /// The causes that were named, and how often.
    pub named: BTreeMap<String, u64>,
    /// Runs that named a right cause among no more than so many: at 1, how often it was named by itself.
    pub right_among: Vec<u64>,
    /// For a pair: runs that named the other after the first was mended.
    pub other_found: u64,
    /// Readings taken, all runs together.
    pub readings: u64,
    /// Minutes, all runs together: to get at the points, half a minute a reading, waits.
    pub minutes: f64,
    /// Prompts: how often asked, how often out.
    pub prompts: BTreeMap<String, Asked>,
    /// The path of the first run that did not come out right, reading by reading.
    #[serde(rename = "astray")]
    pub wrong_run: Option<WrongRun>,
}

/// A prompt in all runs of a case.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize)]
pub struct Asked {
    /// How often it was asked.
    pub asked: u64,
    /// How often its verdict was other than in.
    pub out: u64,
    /// How often it was low.
    pub low: u64,
    /// How often it was high.
    pub high: u64,
    /// Least value.
    pub least: Option<f64>,
    /// Greatest value.
    pub greatest: Option<f64>,
    /// The SI unit of both, as typed; `None` where no number was asked for.
    pub unit: Option<&'static str>,
}

/// A run that went astray.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct WrongRun {
    /// Which sample.
    pub seed: u64,
    /// How bad the fault is, where that is a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub severity: Option<String>,
    /// Reading by reading.
    pub path: Vec<Entry>,
    /// Its result.
    pub came_to: String,
    /// How it was judged; right where only the other of a pair was not found afterwards.
    pub judgement: Judgement,
    /// Of a pair: on the healthy circuit of the same vehicle every reading is judged the same.
    pub reads_healthy: bool,
    /// Of a pair: the single faults with which every reading of the same vehicle is judged the same. The values may differ.
    pub reads_like: Vec<String>,
    /// Of a pair: both change the same part.
    pub one_part: bool,
}

/// Share of a case's runs that must end in another conclusion than "not present" for its fault to count as detected.
pub const DETECTED: f64 = 0.95;

impl Case {
    /// How many runs came out so.
    pub fn count(&self, judgement: Judgement) -> u64 {
        self.judged.get(&judgement).copied().unwrap_or(0)
    }

    /// Runs in which the fault has to be found: where it need not show, it need not be.
    pub fn runs_that_count(&self) -> u64 {
        self.runs - self.count(Judgement::NotShown)
    }

    /// Whether the fault counts as detected: a conclusion other than healthy in 95 % of the runs that count.
    pub fn is_detected(&self) -> bool {
        let concluded =
            self.count(Judgement::Right) + self.count(Judgement::Wrong) + self.count(Judgement::SentElsewhere);
        concluded > 0 && concluded as f64 >= DETECTED * self.runs_that_count() as f64
    }

    /// Whether every run was made and came out as it should. Where the circuit says which parts a cause covers, being sent
    /// elsewhere or coming to nothing replaces nothing; else both fail.
    pub fn is_right(&self, by_parts: bool) -> bool {
        let hidden = |judgement| self.hidden.judged.get(&judgement).copied().unwrap_or(0);
        let unfinished =
            if by_parts { self.count(Judgement::SentElsewhere) + self.count(Judgement::NoConclusion) } else { 0 };
        self.not_asked.is_none()
            && self.count(Judgement::Right) + unfinished == self.runs_that_count()
            && hidden(Judgement::Wrong) == 0
    }

    /// Whether it counts as isolated to at most so many causes.
    pub fn is_isolated(&self, causes: usize) -> bool {
        let right = self.right_among.get(causes.saturating_sub(1)).or(self.right_among.last()).copied().unwrap_or(0);
        self.is_detected() && right as f64 >= DETECTED * self.runs_that_count() as f64
    }
}
