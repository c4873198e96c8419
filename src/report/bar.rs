//! A small drawing that shows where in its limits a reading fell.

use super::drawing::{Coordinate, escaped};
use super::measured::{self, Mark};
use crate::model::limits::Limits;
use crate::model::meter::Meter;
use crate::model::quantity::Quantity;
use crate::model::record::given::Answered;
use crate::model::typed::Shown;
use std::fmt::Write;

/// Width of the drawing, in its own units.
const WIDTH: f64 = 200.0;
/// Height of the drawing, in its own units.
const HEIGHT: f64 = 22.0;
/// What stays free at both ends, for the marks of readings beyond the drawn scale.
const EDGE: f64 = 12.0;

/// The part of the scale that is drawn, in SI units.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Span {
    from: f64,
    to: f64,
}

impl Span {
    /// Around the limits: so much of both sides that a reading a little outside is still on it. `None` without limits.
    fn of(limits: &Limits, values: &[Shown]) -> Option<Self> {
        let (low, high) = (limits.low().map(Quantity::si), limits.high().map(Quantity::si));
        let size = |limit: f64| if limit == 0.0 { 1.0 } else { limit.abs() };
        let span = match (low, high) {
            // A lower limit far below zero only guards against leads the wrong way round: what matters lies above zero.
            (Some(low), Some(high)) if is_guard(low, high) => Self { from: -0.6 * high, to: 1.6 * high },
            (Some(low), Some(high)) => {
                let width = if high > low { high - low } else { size(high) * 0.2 };
                Self { from: low - 0.6 * width, to: high + 0.6 * width }
            }
            (None, Some(high)) => Self { from: high - size(high), to: high + 0.6 * size(high) },
            (Some(low), None) => {
                // Upward there is no end: a tenth of the limit at least, and further as far as the readings go.
                let far = values.iter().map(|shown| match shown {
                    Shown::Value(value) => 1.85 * (value.si() - low).abs(),
                    Shown::OverRange | Shown::Unsteady { .. } => 0.0,
                });
                let width = far.fold(0.1 * size(low), f64::max).min(size(low));
                Self { from: low - 0.6 * width, to: low + width }
            }
            (None, None) => return None,
        };
        (span.from.is_finite() && span.to.is_finite() && span.to > span.from).then_some(span)
    }

    fn holds(self, value: f64) -> bool {
        value >= self.from && value <= self.to
    }

    fn place(self, value: f64) -> f64 {
        EDGE + (WIDTH - 2.0 * EDGE) * (value - self.from) / (self.to - self.from)
    }
}

/// Whether a lower limit is so far below zero, against the upper one, that no reading is expected near it.
fn is_guard(low: f64, high: f64) -> bool {
    low < 0.0 && high > 0.0 && -low >= 5.0 * high
}

/// The drawing as SVG, or `None` where there are no limits or no value. `id` is unique in the page.
pub fn svg(answered: &Answered, meter: Option<&Meter>, id: &str) -> Option<String> {
    let limits = measured::limits_of(&answered.prompt.question)?;
    let title = format!("{}, limits {limits}", measured::answer_words(answered));
    told(answered, meter, id, &title, &words(answered, limits, meter))
}

/// The drawing with a title and a description of the caller's for those who do not see it.
pub fn told(answered: &Answered, meter: Option<&Meter>, id: &str, title: &str, description: &str) -> Option<String> {
    let limits = measured::limits_of(&answered.prompt.question)?;
    let values = measured::values(answered);
    let span = Span::of(limits, &values)?;
    if values.is_empty() {
        return None;
    }
    let middle = HEIGHT / 2.0;
    let mut out = String::new();
    let _ = write!(
        out,
        r#"<svg class="bar" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-labelledby="{id}-title {id}-words"><title id="{id}-title">{}</title><desc id="{id}-words">{}</desc>"#,
        escaped(title),
        escaped(description),
    );
    let (left, right) = (
        limits.low().map_or(0.0, |low| span.place(low.si()).max(0.0)),
        limits.high().map_or(WIDTH, |high| span.place(high.si())),
    );
    let _ = write!(
        out,
        r#"<rect class="band" x="{}" y="4" width="{}" height="14"/><path class="axis" d="M0 {middle}H{WIDTH}"/>"#,
        Coordinate(left),
        Coordinate((right - left).max(1.0)),
    );
    for limit in [limits.low(), limits.high()].into_iter().flatten().filter(|limit| span.holds(limit.si())) {
        let _ = write!(out, r#"<path class="limit" d="M{} 1V21"/>"#, Coordinate(span.place(limit.si())));
    }
    if let [Shown::Value(lowest), Shown::Value(highest)] = values[..] {
        let ends = [lowest, highest].map(|value| Coordinate(span.place(value.si()).clamp(0.0, WIDTH)));
        let _ = write!(out, r#"<path class="range" d="M{} {middle}H{}"/>"#, ends[0], ends[1]);
    }
    for shown in &values {
        match *shown {
            Shown::OverRange => out.push_str(&beyond(answered, true)),
            Shown::Value(value) => mark(&mut out, span, answered, value, meter),
            // Its two ends stand among the values.
            Shown::Unsteady { .. } => {}
        }
    }
    out.push_str("</svg>");
    Some(out)
}

/// A reading's mark with the meter's accuracy to both sides; a double arrow where it lies beyond the drawn scale.
fn mark(out: &mut String, span: Span, answered: &Answered, value: Quantity, meter: Option<&Meter>) {
    let middle = HEIGHT / 2.0;
    if !span.holds(value.si()) {
        out.push_str(&beyond(answered, value.si() > span.to));
        return;
    }
    let at = span.place(value.si());
    if let Some(accuracy) = measured::accuracy(answered, value, meter) {
        let reach = |value: f64| Coordinate(span.place(value).clamp(0.0, WIDTH));
        let (from, to) = (reach(value.si() - accuracy.si()), reach(value.si() + accuracy.si()));
        let _ = write!(out, r#"<path class="accuracy" d="M{from} {middle}H{to}M{from} 5V17M{to} 5V17"/>"#);
    }
    let class = if measured::is_unsure(answered) { "mark unsure" } else { "mark" };
    let at = Coordinate(at);
    // Of a lowest and a highest, each by itself.
    if measured::limits_of(&answered.prompt.question).is_some_and(|limits| !limits.hold(value)) {
        let _ = write!(out, r#"<path class="{class} bad" d="M{at} 6l5 5l-5 5l-5 -5z"/>"#);
    } else {
        let _ = write!(out, r#"<circle class="{class}" cx="{at}" cy="{middle}" r="3.8"/>"#);
    }
}

fn beyond(answered: &Answered, right: bool) -> String {
    let class = if Mark::of(answered).is_bad() { "beyond bad" } else { "beyond" };
    let path = if right { "M187 5l6 6l-6 6M193 5l6 6l-6 6" } else { "M13 5l-6 6l6 6M7 5l-6 6l6 6" };
    format!(r#"<path class="{class}" d="{path}"/>"#)
}

fn words(answered: &Answered, limits: &Limits, meter: Option<&Meter>) -> String {
    let place = match Mark::of(answered) {
        Mark::Low => "below the lower limit",
        Mark::High => "above the upper limit",
        Mark::Open => "at the right edge: it is more than the meter can show",
        _ => "inside the limits",
    };
    let mut words = format!("The mark stands {place}");
    if let [Shown::Value(value)] = measured::values(answered)[..] {
        if let Some(distance) = limits.distance(value) {
            let _ = write!(words, ", {distance} from the nearer one");
        }
        if let Some(accuracy) = measured::accuracy(answered, value, meter) {
            let _ = write!(words, "; the meter is good for ±{} here", accuracy.show(2));
        }
    }
    words.push('.');
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::limits::NoAccuracy;
    use crate::model::meter::Function;
    use crate::model::prompt::{Answer, Leads, Prompt, PromptId, Question};
    use crate::model::stamp::Stamp;
    use crate::model::typed;
    use proptest::prelude::*;
    use std::sync::Arc;

    fn reading(limits: Limits, text: &str) -> Answered {
        let shown = typed::read(text, limits.unit).unwrap();
        let verdict = limits.judge(shown, Err(NoAccuracy::NoMeter));
        Answered {
            line: 2,
            at: Stamp::new("2026-11-24T09:00:00Z"),
            prompt: Arc::new(Prompt {
                id: PromptId::new("supply"),
                text: "Supply".to_owned(),
                question: Question::Reading { function: Function::Volts, limits, leads: Leads::Nowhere },
            }),
            answer: Answer::Reading { typed: text.into() },
            shown: vec![Some(shown)],
            verdict,
            sweep: vec![],
            doubts: vec![],
            origin: crate::model::origin::Origin::TYPED,
            struck_at: None,
            kept_from: None,
        }
    }

    /// Where the limits and the mark stand; `None` for the mark where a double arrow stands in its stead.
    fn places(drawing: &str) -> (Vec<f64>, Option<f64>) {
        let number = |text: &str| text.split(['"', ' ']).next().unwrap().parse::<f64>().unwrap();
        let limits = drawing.split("class=\"limit\" d=\"M").skip(1).map(number).collect();
        let mark = drawing.split_once("class=\"mark\" cx=\"").or(drawing.split_once("class=\"mark bad\" d=\"M"));
        (limits, mark.map(|(_, rest)| number(rest)))
    }

    #[test]
    fn a_double_arrow_stands_where_the_reading_is_beyond_the_scale() {
        let limits = || Limits::between(Quantity::volts(4.75), Quantity::volts(5.25)).unwrap();
        let drawn = |text: &str| svg(&reading(limits(), text), None, "a").unwrap();
        assert!(drawn("24").contains("M187") && drawn("OL").contains("M187"));
        assert!(drawn("0.1").contains("M13") && !drawn("0.1").contains("M187"));
        assert!(!drawn("4.998").contains("beyond"));
        assert!(drawn("4.998").contains("248 mV from the nearer one"), "{}", drawn("4.998"));
        assert_eq!(svg(&reading(Limits::unlimited("V".parse().unwrap()), "5"), None, "a"), None);
    }

    #[test]
    fn a_lower_limit_that_only_guards_against_swapped_leads_does_not_stretch_the_drawing() {
        let limits = || Limits::between(Quantity::volts(-1.0), Quantity::volts(0.05)).unwrap();
        let drawn = |text: &str| places(&svg(&reading(limits(), text), None, "a").unwrap());
        let (upper, mark) = drawn("0.0");
        assert_eq!(upper.len(), 1);
        assert!(upper[0] - mark.unwrap() > 70.0, "{upper:?} {mark:?}");
        assert!(drawn("0.06").1.unwrap() > upper[0]);
        assert_eq!(drawn("-0.5").1, None);
        // Where both limits matter, both are drawn.
        let limits = Limits::between(Quantity::volts(-0.1), Quantity::volts(0.1)).unwrap();
        assert_eq!(places(&svg(&reading(limits, "0"), None, "a").unwrap()).0.len(), 2);
    }

    proptest! {
        #[test]
        fn the_mark_stands_between_the_limits_exactly_when_the_reading_is_in(
            low in -100.0f64..100.0, width in 0.0f64..50.0, value in -200.0f64..200.0
        ) {
            let limits = Limits::between(Quantity::volts(low), Quantity::volts(low + width)).unwrap();
            let answered = reading(limits.clone(), &format!("{value} V"));
            let drawing = svg(&answered, None, "a").unwrap();
            prop_assert!(!drawing.contains("NaN") && !drawing.contains("inf"));
            let (places, mark) = places(&drawing);
            let inside = limits.hold(Quantity::volts(value));
            if is_guard(low, low + width) {
                let upper = mark.map(|mark| mark <= places[0] + 0.11);
                prop_assert!(upper.is_none_or(|below| below == (value <= low + width) || (value - low - width).abs() < 0.11));
                return Ok(());
            }
            match mark {
                // Coordinates are rounded to a tenth.
                Some(mark) if inside => prop_assert!(mark >= places[0] - 0.11 && mark <= places[1] + 0.11),
                Some(mark) => prop_assert!(mark <= places[0] + 0.11 || mark >= places[1] - 0.11),
                None => prop_assert!(!inside),
            }
        }
    }
}
