//! How narrowly a limit decides.

use serde::Serialize;

/// A limit, and how close healthy and faulty readings come to it.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct LimitMargin {
    /// The prompt.
    pub prompt: String,
    /// `low` or `high`.
    pub side: &'static str,
    /// The limit, in SI; that of the first run where it varies.
    pub limit: f64,
    /// Whether it was another one in other runs, since it follows from what was read before.
    pub varies: bool,
    /// Its unit.
    pub unit: String,
    /// Among cases that are mostly inside, the reading nearest to the limit, or furthest beyond it.
    pub inside: Option<f64>,
    /// Among cases that are mostly outside, the reading nearest to the limit, or furthest back inside.
    pub outside: Option<f64>,
    /// The limit that would part them best; `None` where they overlap or one of them is missing.
    pub best: Option<f64>,
    /// Whether inside and outside overlap.
    pub overlap: bool,
}
