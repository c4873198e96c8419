//! What drawings share: coordinates, escaped text, round numbers for a scale.

use super::one_line::plain;
use std::fmt;

/// A coordinate, to a tenth of the drawing's unit.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Coordinate(pub f64);

impl fmt::Display for Coordinate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.0 * 10.0).round() / 10.0;
        // Zero without a sign.
        write!(f, "{}", if tenths == 0.0 { 0.0 } else { tenths })
    }
}

/// Text as it may stand in a drawing.
pub fn escaped(text: &str) -> String {
    maud::html! { (plain(text)) }.into_string()
}

/// Round numbers over a span, at most `most` of them: steps of 1, 2 or 5 times a power of ten.
pub fn ticks(from: f64, to: f64, most: usize) -> Vec<f64> {
    let span = to - from;
    if !span.is_finite() || span <= 0.0 || most == 0 {
        return vec![];
    }
    let raw = span / most as f64;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|factor| factor * power).find(|step| *step >= raw);
    let Some(step) = step.filter(|step| step.is_finite() && *step > 0.0) else { return vec![] };
    let first = (from / step).ceil();
    let count = ((to / step).floor() - first).max(-1.0) as usize + 1;
    (0..count.min(most + 1)).map(|index| (first + index as f64) * step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_has_round_numbers() {
        let round = |from, to, most| ticks(from, to, most).iter().map(|tick| format!("{tick:.4}")).collect::<Vec<_>>();
        assert_eq!(round(0.0, 5.0, 5), ["0.0000", "1.0000", "2.0000", "3.0000", "4.0000", "5.0000"]);
        assert_eq!(round(-0.3, 0.9, 4), ["0.0000", "0.5000"]);
        assert_eq!(round(0.002, 0.0051, 5), ["0.0020", "0.0030", "0.0040", "0.0050"]);
        assert!(ticks(1.0, 1.0, 5).is_empty());
        assert!(ticks(f64::NAN, 1.0, 5).is_empty());
    }

    #[test]
    fn text_in_a_drawing_can_not_leave_it() {
        assert_eq!(escaped("</title><script>\u{1b}[2J"), "&lt;/title&gt;&lt;script&gt;\\u{1b}[2J");
        assert_eq!(Coordinate(-0.01).to_string(), "0");
        assert_eq!(Coordinate(12.34).to_string(), "12.3");
    }
}
