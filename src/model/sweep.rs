//! What a sweep shows: whether the signal follows what is moved.

use super::prompt::Ends;
use super::quantity::Quantity;
use super::typed::Shown;

/// How a sweep came out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shape {
    /// From one end to the other, without a break; up or down.
    Follows,
    /// It does not move with the part.
    Stuck,
    /// It follows but does not reach an end.
    ShortOfEnd,
    /// It breaks off somewhere on the way.
    Dropout,
}

/// A sweep's values held against the ends that they should run between: how a procedure's sweep is judged.
///
/// Without known ends, and with the positions at hand, the helper `analyse_sweep` examines a sweep by a noise and a jump that
/// whoever asks has named; what it calls a dropout is a jump off the path and back onto it.
#[derive(Clone, PartialEq, Debug)]
pub struct Track {
    /// The values, those over range left out.
    pub values: Vec<Quantity>,
    /// Which readings break off, by number from 0.
    pub dropouts: Vec<usize>,
    /// Where the direction turned, by number from 0.
    pub turns: Vec<usize>,
    /// How it came out.
    pub shape: Shape,
}

impl Track {
    /// Judges a sweep. A span of less than a tenth of the expected one is stuck; a reading that lies outside both ends
    /// by more than the tolerance, shows nothing, or leaps away from both neighbours on the way is a dropout (common
    /// practice, no source).
    pub fn of(shown: &[Shown], ends: &Ends) -> Self {
        let (low, high) = ordered(ends.one.si(), ends.other.si());
        let tolerance = ends.tolerance.si();
        let numbers: Vec<Option<f64>> = shown
            .iter()
            .map(|shown| match shown {
                Shown::Value(value) => Some(value.si()),
                Shown::OverRange => None,
            })
            .collect();
        let inside = |number: f64| number >= low - tolerance && number <= high + tolerance;
        let near_end = |number: f64| (number - low).abs() <= tolerance || (number - high).abs() <= tolerance;
        let leap = tolerance.max(0.1 * (high - low));
        // A signal that lies outside all along has nothing that it could break off from.
        let all_outside = numbers.iter().flatten().all(|number| !inside(*number));
        let mut dropouts: Vec<usize> = numbers
            .iter()
            .enumerate()
            .filter(|(_, number)| number.is_none_or(|number| !inside(number) && !all_outside))
            .map(|(index, _)| index)
            .collect();
        // The worst leap first: what stands beside it is then measured against the next sound reading.
        while let Some(worst) = worst_leap(&numbers, &dropouts, leap, near_end) {
            dropouts.push(worst);
        }
        dropouts.sort_unstable();
        let sound: Vec<f64> =
            numbers.iter().enumerate().filter(|(index, _)| !dropouts.contains(index)).filter_map(|(_, n)| *n).collect();
        let (least, most) = sound
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), number| (least.min(*number), most.max(*number)));
        let span = most - least;
        let shape = if sound.is_empty() || span < 0.1 * (high - low) {
            Shape::Stuck
        } else if !dropouts.is_empty() {
            Shape::Dropout
        } else if (least - low).abs() > tolerance || (most - high).abs() > tolerance {
            Shape::ShortOfEnd
        } else {
            Shape::Follows
        };
        let values: Vec<Quantity> = shown
            .iter()
            .filter_map(|shown| match shown {
                Shown::Value(value) => Some(*value),
                Shown::OverRange => None,
            })
            .collect();
        Self { turns: turns(&numbers), values, dropouts, shape }
    }

    /// Lowest value.
    pub fn lowest(&self) -> Option<Quantity> {
        self.values.iter().copied().min_by(|a, b| a.si().total_cmp(&b.si()))
    }

    /// Highest value.
    pub fn highest(&self) -> Option<Quantity> {
        self.values.iter().copied().max_by(|a, b| a.si().total_cmp(&b.si()))
    }
}

/// The sound reading that leaps furthest away from the sound readings on both sides of it, by more than `leap`.
fn worst_leap(numbers: &[Option<f64>], dropouts: &[usize], leap: f64, near_end: impl Fn(f64) -> bool) -> Option<usize> {
    let sound: Vec<(usize, f64)> = numbers
        .iter()
        .enumerate()
        .filter(|(index, _)| !dropouts.contains(index))
        .filter_map(|(index, number)| Some((index, (*number)?)))
        .collect();
    sound
        .windows(3)
        .filter_map(|three| {
            let [(_, before), (index, number), (_, after)] = *three else { return None };
            let away = (number - before.max(after)).max(before.min(after) - number);
            (away > leap && !near_end(number)).then_some((index, away))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(index, _)| index)
}

/// Where a series turns, by number from 0.
pub fn turns(numbers: &[Option<f64>]) -> Vec<usize> {
    let mut turns = Vec::new();
    let mut last: Option<(usize, f64)> = None;
    let mut rising: Option<bool> = None;
    for (index, number) in numbers.iter().enumerate() {
        let Some(number) = *number else { continue };
        if let Some((at, before)) = last
            && number != before
        {
            let up = number > before;
            if rising.is_some_and(|rising| rising != up) {
                turns.push(at);
            }
            rising = Some(up);
        }
        last = Some((index, number));
    }
    turns
}

fn ordered(a: f64, b: f64) -> (f64, f64) {
    if a <= b { (a, b) } else { (b, a) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn track(numbers: &[f64]) -> Track {
        let ends = Ends {
            one: Quantity::volts(0.7),
            other: Quantity::volts(4.0),
            tolerance: Quantity::volts(0.33),
            unit: "V".parse().unwrap(),
            source: None,
        };
        let shown: Vec<_> = numbers.iter().map(|number| Shown::Value(Quantity::volts(*number))).collect();
        Track::of(&shown, &ends)
    }

    #[test]
    fn a_sensor_that_stays_at_one_end_does_not_follow_and_a_sweep_may_run_either_way() {
        // Common practice, no source: should run from about 0.7 V to 4.0 V and stays at 4.0 V while its shaft is turned.
        assert_eq!(track(&[4.0, 4.0, 4.01, 4.0]).shape, Shape::Stuck);
        assert_eq!(track(&[0.7, 1.5, 2.4, 3.3, 4.0]).shape, Shape::Follows);
        assert_eq!(track(&[4.0, 3.3, 2.4, 1.5, 0.7]).shape, Shape::Follows);
        assert_eq!(track(&[0.7, 1.9, 3.0, 4.0, 3.1, 2.0, 0.72]).shape, Shape::Follows);
        assert_eq!(track(&[5.0, 5.0, 5.0]).shape, Shape::Stuck);
        assert_eq!(track(&[0.0, 0.01, 0.0]).shape, Shape::Stuck);
    }

    #[test]
    fn a_break_on_the_way_and_a_short_way_are_told_apart() {
        let broken = track(&[0.7, 1.5, 0.02, 2.4, 3.3, 4.0]);
        assert_eq!((broken.shape, broken.dropouts), (Shape::Dropout, vec![2]));
        let open = track(&[0.7, 1.5, 5.0, 2.4, 3.3, 4.0]);
        assert_eq!((open.shape, open.dropouts), (Shape::Dropout, vec![2]));
        assert_eq!(track(&[0.7, 1.5, 2.4, 2.5]).shape, Shape::ShortOfEnd);
        assert_eq!(track(&[0.7, 2.0, 4.0, 2.0, 0.7]).turns, vec![2]);
    }
}
