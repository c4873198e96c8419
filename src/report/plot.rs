//! A sweep as a drawing: the readings in their order, the bands in which its ends should lie, breaks and turns marked.

use super::drawing::{Coordinate, escaped, ticks};
use super::measured;
use super::sweep::sweep_text;
use crate::model::prompt::Ends;
use crate::model::record::given::Answered;
use crate::model::sweep::Track;
use crate::model::typed::Shown;
use crate::model::unit::significant;
use std::fmt::Write;

/// Width of the drawing, in its own units.
const WIDTH: f64 = 480.0;
/// Height of the drawing, in its own units.
const HEIGHT: f64 = 250.0;
/// Where the readings are drawn: left, top, right, bottom.
const FIELD: (f64, f64, f64, f64) = (58.0, 14.0, 470.0, 206.0);

/// Maps readings to the field.
struct Scale {
    from: f64,
    to: f64,
    count: usize,
}

impl Scale {
    fn of(ends: &Ends, shown: &[Shown]) -> Self {
        let tolerance =
            ends.unit.number(ends.one.with_si(ends.one.si() + ends.tolerance.si())) - ends.unit.number(ends.one);
        let bounds = [ends.one, ends.other].map(|end| ends.unit.number(end));
        let numbers = shown.iter().filter_map(|shown| match shown {
            Shown::Value(value) => Some(ends.unit.number(*value)),
            Shown::OverRange | Shown::Unsteady { .. } => None,
        });
        let (from, to) = bounds
            .into_iter()
            .flat_map(|end| [end - tolerance, end + tolerance])
            .chain(numbers)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(from, to), number| (from.min(number), to.max(number)));
        let margin = if to > from { 0.05 * (to - from) } else { 1.0 };
        Self { from: from - margin, to: to + margin, count: shown.len() }
    }

    fn x(&self, index: usize) -> f64 {
        let (left, _, right, _) = FIELD;
        let steps = self.count.saturating_sub(1).max(1) as f64;
        left + 12.0 + (right - left - 24.0) * index as f64 / steps
    }

    fn y(&self, number: f64) -> f64 {
        let (_, top, _, bottom) = FIELD;
        bottom - (bottom - top) * ((number - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }
}

/// The drawing as SVG, or `None` where nothing was read. `id` is unique in the page.
pub fn svg(answered: &Answered, id: &str) -> Option<String> {
    let (ends, shown, track) = measured::track(answered)?;
    let scale = Scale::of(ends, &shown);
    // Numbers so far apart that no scale holds them.
    if !(scale.to - scale.from).is_finite() {
        return None;
    }
    let mut out = String::new();
    let struck = answered.struck_at.is_some();
    let _ = write!(
        out,
        r#"<svg class="plot" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-labelledby="{id}-title {id}-words"><title id="{id}-title">{}</title><desc id="{id}-words">{}</desc>"#,
        escaped(&format!("Sweep{}: {}", if struck { ", taken back" } else { "" }, answered.prompt.text)),
        escaped(&words(answered, ends, &shown)),
    );
    frame(&mut out, &scale, ends);
    readings(&mut out, &scale, ends, &shown, &track);
    if struck {
        let (left, top, right, bottom) = FIELD;
        let (x, y) = (Coordinate((left + right) / 2.0), Coordinate((top + bottom) / 2.0));
        let _ = write!(out, r#"<text class="over" x="{x}" y="{y}" text-anchor="middle">taken back</text>"#);
    }
    out.push_str("</svg>");
    Some(out)
}

/// Bands of the ends, scale at the left, numbers of the readings below.
fn frame(out: &mut String, scale: &Scale, ends: &Ends) {
    let (left, top, right, bottom) = FIELD;
    for tick in ticks(scale.from, scale.to, 6) {
        let y = scale.y(tick);
        let _ = write!(
            out,
            r#"<path class="grid" d="M{left} {0}H{right}"/><text x="{1}" y="{2}" text-anchor="end">{3}</text>"#,
            Coordinate(y),
            Coordinate(left - 6.0),
            Coordinate(y + 5.0),
            escaped(&significant(tick, 4)),
        );
    }
    for end in [ends.one, ends.other] {
        let at = |offset: f64| scale.y(ends.unit.number(end.with_si(end.si() + offset)));
        let (one, other) = (at(ends.tolerance.si()), at(-ends.tolerance.si()));
        let (upper, lower) = (one.min(other), one.max(other));
        let _ = write!(
            out,
            r#"<rect class="band" x="{left}" y="{}" width="{}" height="{}"/><path class="limit" d="M{left} {}H{right}"/>"#,
            Coordinate(upper),
            Coordinate(right - left),
            Coordinate((lower - upper).max(1.0)),
            Coordinate(scale.y(ends.unit.number(end))),
        );
    }
    let every = scale.count.div_ceil(12).max(1);
    for index in (0..scale.count).filter(|index| index % every == 0) {
        let _ = write!(
            out,
            r#"<text x="{}" y="{}" text-anchor="middle">{}</text>"#,
            Coordinate(scale.x(index)),
            Coordinate(bottom + 18.0),
            index + 1,
        );
    }
    let _ = write!(
        out,
        r#"<path class="axis" d="M{left} {top}V{bottom}H{right}"/><text x="{}" y="{}" text-anchor="middle">reading</text><text x="4" y="{}">{}</text>"#,
        Coordinate((left + right) / 2.0),
        Coordinate(HEIGHT - 6.0),
        Coordinate(HEIGHT - 6.0),
        escaped(&format!("in {}", ends.unit)),
    );
}

/// The line through the sound readings, and a mark for each reading.
fn readings(out: &mut String, scale: &Scale, ends: &Ends, shown: &[Shown], track: &Track) {
    let (_, top, ..) = FIELD;
    let place = |index: usize| match shown[index] {
        Shown::Value(value) => (scale.x(index), scale.y(ends.unit.number(value))),
        // More than the meter can show: at the top of the field.
        Shown::OverRange | Shown::Unsteady { .. } => (scale.x(index), top),
    };
    let mut path = String::new();
    let mut broken = true;
    for index in 0..shown.len() {
        if track.dropouts.contains(&index) {
            broken = true;
            continue;
        }
        let (x, y) = place(index);
        let _ = write!(path, "{}{} {}", if broken { "M" } else { "L" }, Coordinate(x), Coordinate(y));
        broken = false;
    }
    let _ = write!(out, r#"<path class="line" d="{path}"/>"#);
    let small = shown.len() > 40;
    for (index, reading) in shown.iter().enumerate() {
        let (x, y) = place(index);
        let (x, y, arm) = (Coordinate(x), Coordinate(y), if small { 4 } else { 6 });
        if track.dropouts.contains(&index) {
            let _ =
                write!(out, r#"<path class="dropout" d="M{x} {y}m-{arm} -{arm}l{0} {0}m-{0} 0l{0} -{0}"/>"#, 2 * arm);
            if *reading == Shown::OverRange {
                // Beside its cross, where it is still in the field.
                let (beside, anchor) = if index + 1 == shown.len() { (-10.0, "end") } else { (10.0, "start") };
                let (at, base) = (Coordinate(scale.x(index) + beside), Coordinate(top + 5.0));
                let _ = write!(out, r#"<text x="{at}" y="{base}" text-anchor="{anchor}">OL</text>"#);
            }
        } else if track.turns.contains(&index) {
            let _ =
                write!(out, r#"<path class="turn" d="M{x} {y}m0 -{arm}l{arm} {arm}l-{arm} {arm}l-{arm} -{arm}z"/>"#);
        } else {
            let _ = write!(out, r#"<circle class="dot" cx="{x}" cy="{y}" r="{}"/>"#, if small { 2 } else { 4 });
        }
    }
}

fn words(answered: &Answered, ends: &Ends, shown: &[Shown]) -> String {
    let count = crate::model::words::count(shown.len(), "reading", "readings");
    format!(
        "{count} in order; shaded are the bands in which both ends should lie, {}. {}.",
        measured::limits_words(&answered.prompt.question).0,
        sweep_text(&answered.sweep, &answered.shown, ends)
    )
}
