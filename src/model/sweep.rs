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
/// the caller names; what it calls a dropout is a jump off the path and back onto it.
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
    /// Judges a sweep. A span of less than a tenth of the expected one is stuck. A dropout is a reading that shows nothing,
    /// lies outside both ends by more than the tolerance, leaps away from both neighbors on the way, or is one of some in
    /// a row that leap to an end and back without coming there (common practice, no source; see `leaps_to_an_end`).
    pub fn of(shown: &[Shown], ends: &Ends) -> Self {
        let (low, high) = ordered(ends.one.si(), ends.other.si());
        let tolerance = ends.tolerance.si();
        let numbers = numbers(shown);
        let inside = |number: f64| number >= low - tolerance && number <= high + tolerance;
        // A signal that lies outside all along has nothing that it could break off from.
        let all_outside = numbers.iter().flatten().all(|number| !inside(*number));
        let outside: Vec<bool> =
            numbers.iter().map(|number| number.is_none_or(|number| !inside(number) && !all_outside)).collect();
        let dropped = leapt(&numbers, outside, ends);
        let dropouts: Vec<usize> = (0..dropped.len()).filter(|index| dropped[*index]).collect();
        let sound = sound(&numbers, &dropped);
        let (least, most) = sound.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), (_, number)| {
            (least.min(*number), most.max(*number))
        });
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
                Shown::OverRange | Shown::Unsteady { .. } => None,
            })
            .collect();
        Self { turns: turns(&numbers), values, dropouts, shape }
    }

    /// The lowest and the highest reading of a sweep, those left aside that leap away from the others and back. What stands
    /// outside of the ends is left in, since a signal that has shifted as a whole runs there without a break. `None` where
    /// nothing is left.
    pub fn unbroken(shown: &[Shown], ends: &Ends) -> Option<(Quantity, Quantity)> {
        let numbers = numbers(shown);
        let over_range = numbers.iter().map(Option::is_none).collect();
        let dropped = leapt(&numbers, over_range, ends);
        let sound = sound(&numbers, &dropped);
        let end = |better: fn(f64, f64) -> f64| {
            let number = sound.iter().map(|(_, number)| *number).reduce(better)?;
            Some(ends.one.with_si(number))
        };
        end(f64::min).zip(end(f64::max))
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

/// The readings as numbers; `None` over range.
fn numbers(shown: &[Shown]) -> Vec<Option<f64>> {
    let number = |shown: &Shown| match shown {
        Shown::Value(value) => Some(value.si()),
        Shown::OverRange | Shown::Unsteady { .. } => None,
    };
    shown.iter().map(number).collect()
}

/// Which readings are dropouts: those that were dropped before, and those that leap away from the others and back.
fn leapt(numbers: &[Option<f64>], mut dropped: Vec<bool>, ends: &Ends) -> Vec<bool> {
    let (low, high) = ordered(ends.one.si(), ends.other.si());
    let tolerance = ends.tolerance.si();
    let leap = tolerance.max(0.1 * (high - low));
    let near_end = |number: f64| (number - low).abs() <= tolerance || (number - high).abs() <= tolerance;
    let at_one_end = |run: &[Numbered]| {
        run.iter().all(|(_, number)| *number <= low + tolerance)
            || run.iter().all(|(_, number)| *number >= high - tolerance)
    };
    while let Some(run) = leaps_to_an_end(&sound(numbers, &dropped), leap, high - low, at_one_end) {
        run.into_iter().for_each(|index| dropped[index] = true);
    }
    // The worst leap first: what stands beside it is then measured against the next sound reading.
    while let Some(worst) = worst_leap(&sound(numbers, &dropped), leap, high - low, near_end) {
        dropped[worst] = true;
    }
    dropped
}

/// A reading with its number in the sweep.
type Numbered = (usize, f64);

/// The readings that are no dropouts, with their numbers.
fn sound(numbers: &[Option<f64>], dropped: &[bool]) -> Vec<Numbered> {
    let sound = numbers.iter().zip(dropped).enumerate().filter(|(_, (_, dropped))| !**dropped);
    sound.filter_map(|(index, (number, _))| Some((index, (*number)?))).collect()
}

/// The step up to which the part was held still, and the usual step of the others: the median of those between neighbors.
/// A part is held still where a step is less than a quarter of what evenly spread readings would have (common practice, no
/// source). `None` where nothing moved.
fn usual_step(sound: &[Numbered], span: f64) -> Option<(f64, f64)> {
    let still = 0.25 * span / sound.len().max(1) as f64;
    let steps = sound.windows(2).map(|pair| (pair[1].1 - pair[0].1).abs());
    let mut moving: Vec<f64> = steps.filter(|step| *step > still).collect();
    moving.sort_unstable_by(f64::total_cmp);
    Some((still, *moving.get(moving.len() / 2)?))
}

/// The sound reading that leaps furthest away from the sound readings on both sides of it, by more than `leap` and by more
/// than one and a half usual steps: where a coarse sweep is turned back on its way, nothing breaks off.
fn worst_leap(sound: &[Numbered], leap: f64, span: f64, near_end: impl Fn(f64) -> bool) -> Option<usize> {
    let leap = leap.max(1.5 * usual_step(sound, span)?.1);
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

/// The shortest row of readings at one end that the signal leapt to and back from, where what is turned was elsewhere.
///
/// A sweep turns at an end by right, and then it comes there as it moves everywhere. So both leaps are more than `leap`, and
/// either the larger is more than twice a usual step and the signal moves the other way just before or just after them,
/// as it does where it goes on from where it broke off; or the smaller is, and the signal is back where it was (common
/// practice, no source).
fn leaps_to_an_end(
    sound: &[Numbered],
    leap: f64,
    span: f64,
    at_one_end: impl Fn(&[Numbered]) -> bool,
) -> Option<Vec<usize>> {
    let steps: Vec<f64> = sound.windows(2).map(|pair| pair[1].1 - pair[0].1).collect();
    let (still, usual) = usual_step(sound, span)?;
    let leaps: Vec<usize> = (0..steps.len()).filter(|step| steps[*step].abs() > leap).collect();
    let opposite = |one: f64, other: f64| one.abs() > still && one * other < 0.0;
    leaps
        .windows(2)
        .filter_map(|pair| {
            let (to, back) = (pair[0], pair[1]);
            let run = &sound[to + 1..=back];
            let (there, home) = (steps[to], steps[back]);
            if there * home >= 0.0 || !at_one_end(run) {
                return None;
            }
            let before = to.checked_sub(1).is_some_and(|step| opposite(steps[step], there));
            let behind = steps.get(back + 1).is_some_and(|step| opposite(*step, home));
            let larger = there.abs().max(home.abs());
            let smaller = there.abs().min(home.abs());
            let goes_on = (before || behind) && larger > 2.0 * usual;
            let is_back = smaller > 2.0 * usual && (there + home).abs() <= leap;
            (goes_on || is_back).then(|| run.iter().map(|(index, _)| *index).collect::<Vec<usize>>())
        })
        .min_by_key(Vec::len)
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
    use proptest::prelude::*;

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

    fn five_volts_ends() -> Ends {
        Ends {
            one: Quantity::volts(0.5),
            other: Quantity::volts(4.5),
            tolerance: Quantity::volts(0.4),
            unit: "V".parse().unwrap(),
            source: None,
        }
    }

    fn five_volts(numbers: &[f64]) -> Track {
        let shown: Vec<_> = numbers.iter().map(|number| Shown::Value(Quantity::volts(*number))).collect();
        Track::of(&shown, &five_volts_ends())
    }

    #[test]
    fn a_break_whose_voltage_is_that_of_an_end_is_a_break() {
        for (numbers, dropouts) in [
            (&[0.508, 0.912, 1.311, 1.711, 0.105, 0.112, 0.118, 3.304, 3.7, 4.102, 4.497][..], vec![4, 5, 6]),
            (&[0.508, 0.912, 1.311, 1.711, 0.0855, 0.1019, 0.1183, 3.304, 3.7, 4.102, 4.497], vec![4, 5, 6]),
            (&[0.504, 0.906, 0.11, 1.703, 2.101, 2.5, 2.903, 3.3, 3.704, 4.1, 4.49], vec![2]),
            // On the way down; to the upper end; while the part is held; with few readings.
            (&[4.5, 4.1, 3.7, 3.3, 2.9, 0.3, 2.1, 1.7, 1.3, 0.9, 0.5], vec![5]),
            (&[0.5, 0.9, 1.3, 1.7, 4.7, 4.8, 2.9, 3.3, 3.7, 4.1, 4.5], vec![4, 5]),
            (&[0.5, 0.9, 1.3, 2.1, 2.1, 0.1, 2.1, 2.1, 2.9, 3.7, 4.5], vec![5]),
            (&[0.5, 1.3, 0.1, 2.9, 3.7, 4.5], vec![2]),
            // Twice on one way.
            (&[0.5, 0.9, 1.3, 0.1, 2.1, 2.5, 2.9, 0.12, 0.11, 4.1, 4.5], vec![3, 7, 8]),
        ] {
            let track = five_volts(numbers);
            assert_eq!((track.shape, track.dropouts), (Shape::Dropout, dropouts), "{numbers:?}");
        }
    }

    #[test]
    fn lowest_and_highest_without_the_breaks_keep_what_runs_outside_of_the_ends() {
        let unbroken = |numbers: &[f64]| {
            let shown: Vec<_> = numbers.iter().map(|number| Shown::Value(Quantity::volts(*number))).collect();
            let (lowest, highest) = Track::unbroken(&shown, &five_volts_ends()).unwrap();
            (lowest.si(), highest.si())
        };
        // A break on the way, and a highest reading that is a little short.
        assert_eq!(unbroken(&[0.5, 0.9, 1.3, 0.02, 2.5, 3.3, 4.0, 4.25]), (0.5, 4.25));
        assert_eq!(
            unbroken(&[0.508, 0.912, 1.311, 1.711, 0.105, 0.112, 0.118, 3.304, 3.7, 4.102, 4.497]),
            (0.508, 4.497)
        );
        // Open to the supply.
        assert_eq!(unbroken(&[0.5, 0.9, 1.3, 5.0, 5.0, 2.5, 3.3, 4.0, 4.5]), (0.5, 4.5));
        // Shifted as a whole, past the upper end and its tolerance, down and past the lower one.
        assert_eq!(unbroken(&[1.1, 1.9, 2.7, 3.5, 4.3, 5.1]), (1.1, 5.1));
        assert_eq!(unbroken(&[-0.1, 0.7, 1.5, 2.3, 3.1, 3.9]), (-0.1, 3.9));
        assert_eq!(Track::unbroken(&[Shown::OverRange; 3], &five_volts_ends()), None);
    }

    #[test]
    fn a_sweep_that_turns_at_an_end_does_not_break_off_there() {
        for numbers in [
            &[0.5, 1.3, 2.1, 2.9, 3.7, 4.5, 3.7, 2.9, 2.1, 1.3, 0.5][..],
            &[4.5, 2.5, 0.5, 2.5, 4.5],
            &[2.5, 4.5, 2.5, 0.5, 2.5],
            // Only the stops, each looked at for a while.
            &[0.5, 4.5, 0.5, 4.5],
            &[0.5, 0.51, 0.5, 4.5, 4.49, 4.5, 0.5, 0.51],
            // To and fro at a stop; in haste to the stop and slowly back.
            &[0.5, 1.3, 0.5, 1.3, 2.1, 2.9, 3.7, 4.5],
            &[0.5, 1.3, 2.1, 1.3, 0.5, 1.3, 2.1, 2.9, 3.7, 4.5],
            &[0.5, 0.9, 1.3, 1.7, 4.4, 4.5, 4.1, 3.7, 3.3, 2.9],
            &[0.5, 0.6, 0.9, 2.4, 4.4, 2.2, 0.6],
        ] {
            let track = five_volts(numbers);
            assert_eq!((track.shape, track.dropouts), (Shape::Follows, vec![]), "{numbers:?}");
        }
    }

    proptest! {
        #[test]
        fn an_even_sweep_follows_and_one_that_leaps_to_an_end_and_on_does_not(
            count in 8usize..80, at in 0.25f64..0.75, long in 1usize..4, down in any::<bool>(),
            high in any::<bool>(), noise in proptest::collection::vec(-0.02f64..0.02, 80),
        ) {
            let step = 4.0 / (count - 1) as f64;
            let mut numbers: Vec<f64> = (0..count).map(|index| 0.5 + step * index as f64 + noise[index] * step).collect();
            if down {
                numbers.reverse();
            }
            let mut there_and_back = numbers.clone();
            there_and_back.extend(numbers.iter().rev().skip(1));
            prop_assert_eq!(five_volts(&numbers).shape, Shape::Follows);
            prop_assert_eq!(five_volts(&there_and_back).shape, Shape::Follows);
            let first = (at * count as f64) as usize;
            let broken = first..(first + long).min(count - 2);
            // So near to the end that is reached anyway nothing is seen of it.
            let end = if high { 4.6 } else { 0.4 };
            let leaps = [numbers[broken.start - 1], numbers[broken.end]].map(|number| (number - end).abs());
            prop_assume!(leaps[0].min(leaps[1]) > 0.5 && leaps[0].max(leaps[1]) > 2.5 * step);
            for index in broken.clone() {
                numbers[index] = end + noise[index];
            }
            prop_assert_eq!(five_volts(&numbers).shape, Shape::Dropout, "{:?} {:?}", broken, numbers);
        }
    }
}
