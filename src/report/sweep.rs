//! A sweep in words.

use super::entry::Tone;
use super::table::harmless;
use crate::model::prompt::Ends;
use crate::model::record::given::SweepReading;
use crate::model::sweep;
use crate::model::typed::{self, Shown};
use std::fmt::Write;

/// The lowest and the highest reading of a sweep, with the digits that were typed; `None` where the meter showed no number.
pub fn sweep_span(readings: &[SweepReading], shown: &[Option<Shown>], ends: &Ends) -> Option<(String, String)> {
    let values = readings.iter().zip(shown).filter_map(|(reading, shown)| match shown {
        Some(Shown::Value(value)) => Some((value.si(), &reading.text)),
        _ => None,
    });
    let values: Vec<(f64, &String)> = values.collect();
    let text = |found: Option<&(f64, &String)>| found.map(|(_, text)| harmless(&typed::as_shown(text, ends.unit)));
    let order = |one: &&(f64, &String), other: &&(f64, &String)| one.0.total_cmp(&other.0);
    text(values.iter().min_by(order)).zip(text(values.iter().max_by(order)))
}

/// A sweep in words: whether it follows, and where it turned or broke off.
pub fn sweep_text(readings: &[SweepReading], shown: &[Option<Shown>], ends: &Ends) -> String {
    sweep_words(readings, shown, ends).1
}

/// The same, and how it catches the eye.
pub fn sweep_words(readings: &[SweepReading], shown: &[Option<Shown>], ends: &Ends) -> (Tone, String) {
    let readable: Vec<Shown> = shown.iter().flatten().copied().collect();
    if readable.is_empty() {
        return (Tone::Bad, String::new());
    }
    let track = sweep::Track::of(&readable, ends);
    let (tone, word) = match track.shape {
        sweep::Shape::Follows => (Tone::Good, "follows"),
        sweep::Shape::Stuck => (Tone::Bad, "DOES NOT FOLLOW"),
        sweep::Shape::ShortOfEnd => (Tone::Bad, "SHORT OF AN END"),
        sweep::Shape::Dropout => (Tone::Bad, "DROPS OUT"),
    };
    let mut words = word.to_owned();
    if let Some((lowest, highest)) = sweep_span(readings, shown, ends) {
        let _ = write!(words, ", {lowest} … {highest}");
    }
    let numbers = |list: &[usize]| list.iter().map(|index| (index + 1).to_string()).collect::<Vec<_>>().join(", ");
    if !track.dropouts.is_empty() {
        let _ = write!(words, ", breaks off at reading {}", numbers(&track.dropouts));
    } else if !track.turns.is_empty() && track.shape != sweep::Shape::Stuck {
        let _ = write!(words, ", turns at reading {}", numbers(&track.turns));
    }
    (tone, words)
}
