//! A sweep: many readings of one point while something is moved end to end.

use super::door::{Any, Anys, alike, helpers};
use super::error::{Allowed, ArgumentError, Given};
use super::results::{Spot, results};
use super::travel::{Direction, Travel};
use crate::model::quantity::Quantity;

results! {
    /// What a sweep shows.
    pub struct Sweep = "sweep" {
        /// `rising`, `falling` or `flat`, from the first reading to the last.
        direction: Direction,
        /// Last reading less the first, without its sign.
        span: Quantity,
        /// Lowest reading, dropouts left aside.
        lowest: Quantity,
        /// Where it was.
        lowest_at: Quantity,
        /// Highest reading, dropouts left aside.
        highest: Quantity,
        /// Where it was.
        highest_at: Quantity,
        /// Whether it never went back by more than the noise, dropouts left aside.
        monotonic: bool,
        /// Where it went back.
        reversals: Vec<Spot>,
        /// Where it left its path and came back.
        dropouts: Vec<Spot>,
        /// Where it jumped and stayed.
        steps: Vec<Spot>,
        /// Where it did not move at the beginning or the end.
        dead_ends: Vec<Spot>,
        /// Where it did not move in between.
        stuck: Vec<Spot>,
        /// Furthest distance from the best straight line, as a share of the span.
        linearity: Quantity,
        /// Where that was.
        linearity_at: Quantity,
    }

    /// The gap between a sweep up and the sweep back.
    pub struct Hysteresis = "hysteresis" {
        /// Widest gap: reading on the way back less reading on the way up.
        gap: Quantity,
        /// That gap as a share of the span of the way up, without its sign.
        share: Quantity,
        /// Where it was.
        at: Quantity,
    }

    /// The best straight line through points.
    pub struct Line = "line" {
        /// Reading at position zero.
        start: f64,
        /// Change of the reading per unit of position, both in SI units.
        slope: f64,
        /// Furthest distance of a point from the line, in the readings' unit.
        furthest: Quantity,
        /// Where that was.
        at: Quantity,
    }
}

results! {
    /// How far the best straight line through points can be trusted.
    pub struct LineTrust = "trust in a line" {
        /// Correlation coefficient, from −1 to 1; none where all readings are the same.
        r: Option<f64>,
        /// Standard uncertainty of the reading at position zero, in SI units.
        start_uncertainty: f64,
        /// Standard uncertainty of the slope, in SI units.
        slope_uncertainty: f64,
        /// Standard deviation of the readings about the line.
        scatter: Quantity,
    }
}

/// Positions and readings that belong together, the positions running one way.
fn paired(positions: &[Quantity], readings: &[Quantity], wanted: usize) -> Result<(), ArgumentError> {
    if positions.len() != readings.len() {
        let (left, right) = (positions.len(), readings.len());
        return Err(ArgumentError::UnequalLength { one: "positions", other: "readings", left, right });
    }
    if positions.len() < wanted {
        return Err(ArgumentError::TooFew { argument: "readings", wanted, given: readings.len() });
    }
    one_way("positions", positions)
}

fn one_way(argument: &'static str, positions: &[Quantity]) -> Result<(), ArgumentError> {
    let forward = positions.len() < 2 || positions[1].si() > positions[0].si();
    for (index, pair) in positions.windows(2).enumerate() {
        let moved = if forward { pair[1].si() > pair[0].si() } else { pair[1].si() < pair[0].si() };
        if !moved {
            return Err(ArgumentError::TurnsBack { argument, at: index + 2, value: pair[1] });
        }
    }
    Ok(())
}

/// Least squares: intercept and slope.
fn best_line(points: impl Iterator<Item = (f64, f64)> + Clone) -> (f64, f64) {
    let count = points.clone().count() as f64;
    let (mean_x, mean_y) = points.clone().fold((0.0, 0.0), |(x, y), point| (x + point.0 / count, y + point.1 / count));
    let (over, under) = points
        .fold((0.0, 0.0), |(over, under), (x, y)| (over + (x - mean_x) * (y - mean_y), under + (x - mean_x).powi(2)));
    let slope = over / under;
    (mean_y - slope * mean_x, slope)
}

fn furthest(line: (f64, f64), points: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    points.map(|(x, y)| (x, y - line.0 - line.1 * x)).fold((f64::NAN, 0.0), |worst, point| {
        if worst.0.is_nan() || point.1.abs() > worst.1.abs() { point } else { worst }
    })
}

helpers! { "Sweeps";
    /// What a sweep shows: many readings of one point while something is moved end to end.
    ///
    /// `positions` (an angle, a percentage, a time) must run one way; `readings` go with them. `noise` is what a reading may
    /// wander without having moved, `jump` what is too much between neighbours. Found are: the direction and span (first to
    /// last reading), lowest and highest with their places; `reversals` (back by more than the noise); `dropouts` (off the path
    /// by more than a jump, then back by a jump); `steps` (a jump that stays); `dead_ends` (two readings or more within the
    /// noise at an end); `stuck` (three or more within the noise in between); `linearity` (furthest from the least-squares
    /// line, as a share of the span) with its place. Dropouts are left aside in everything else. Each place has `from`, `to`
    /// and `reading`.
    ///
    /// Errors: fewer than three readings; lists of unequal length; positions that turn back; noise or jump of another kind
    /// than the readings, noise below zero, jump not above the noise; readings that are all the same give `flat`, not an error.
    ///
    /// Source: least-squares line: any statistics text, checked against a scientific library. The words and thresholds: common
    /// practice, no source.
    ///
    /// ```rhai
    /// let track = analyse_sweep([0.deg, 20.deg, 40.deg, 60.deg, 80.deg], [0.5.V, 1.5.V, 0.02.V, 3.5.V, 4.5.V], 20.mV, 1.2.V);
    /// track.dropouts  // 20 mV at 40°
    /// track.direction  // rising
    /// track.linearity  // 0 %
    /// analyse_sweep([0.pct, 50.pct, 100.pct], [0.5.V, 2.6.V, 4.5.V], 20.mV, 3.V).linearity  // 1.667 %
    /// ```
    fn analyse_sweep(positions: Anys, readings: Anys, noise: Any, jump: Any) -> Sweep {
        paired(&positions, &readings, 3)?;
        alike(("readings", readings[0]), ("noise", difference_like(noise, readings[0])))?;
        alike(("readings", readings[0]), ("jump", difference_like(jump, readings[0])))?;
        let zero = Given::Quantity(noise.with_si(0.0));
        if noise.si() < 0.0 {
            return Err(ArgumentError::OutOfRange {
                argument: "noise",
                allowed: Allowed::AtLeast(zero),
                given: Given::Quantity(noise),
            });
        }
        if jump.si() <= noise.si() {
            return Err(ArgumentError::Order {
                greater: "jump",
                lesser: "noise",
                high: Given::Quantity(jump),
                low: Given::Quantity(noise),
            });
        }
        let mut travel = Travel::new(&positions, &readings, noise.si(), jump.si());
        let dropouts = travel.find_dropouts();
        Ok(judged(&travel, dropouts))
    }

    /// The widest gap between a sweep up and the sweep back.
    ///
    /// At every place of the way up that the way back covers, the reading on the way back is taken from the straight line
    /// between its neighbours. Fields: `gap` (back less up), `share` (of the span of the way up), `at`.
    ///
    /// Errors: fewer than two readings either way; lists of unequal length; positions or readings of unlike kinds; positions
    /// that turn back within one way; ways that share no place; a way up without a span.
    ///
    /// Source: common practice, no source; interpolation checked against a scientific library.
    ///
    /// ```rhai
    /// sweep_hysteresis([0.pct, 50.pct, 100.pct], [0.5.V, 2.5.V, 4.5.V], [100.pct, 50.pct, 0.pct], [4.5.V, 2.58.V, 0.5.V])  // gap 80 mV, share 2 %, at 50 %
    /// ```
    fn sweep_hysteresis(
        positions_up: Anys,
        readings_up: Anys,
        positions_back: Anys,
        readings_back: Anys,
    ) -> Hysteresis {
        paired(&positions_up, &readings_up, 2)?;
        paired(&positions_back, &readings_back, 2)?;
        alike(("positions_up", positions_up[0]), ("positions_back", positions_back[0]))?;
        alike(("readings_up", readings_up[0]), ("readings_back", readings_back[0]))?;
        let at_back = |at: f64| {
            positions_back.windows(2).zip(readings_back.windows(2)).find_map(|(places, readings)| {
                let share = (at - places[0].si()) / (places[1].si() - places[0].si());
                (0.0..=1.0).contains(&share).then(|| readings[0].si() + share * (readings[1].si() - readings[0].si()))
            })
        };
        let widest = positions_up
            .iter()
            .zip(&readings_up)
            .filter_map(|(place, reading)| at_back(place.si()).map(|back| (*place, back - reading.si())))
            .reduce(|widest, here| if here.1.abs() > widest.1.abs() { here } else { widest });
        let (at, gap) = widest.ok_or(ArgumentError::OutOfRange {
            argument: "positions_back",
            allowed: Allowed::Between(
                Given::Quantity(positions_up[0]),
                Given::Quantity(positions_up[positions_up.len() - 1]),
            ),
            given: Given::Quantity(positions_back[0]),
        })?;
        let span = readings_up[readings_up.len() - 1].si() - readings_up[0].si();
        if span == 0.0 {
            return Err(ArgumentError::Same {
                one: "the first",
                other: "the last reading up",
                value: Given::Quantity(readings_up[0]),
            });
        }
        Ok(Hysteresis { gap: difference(readings_up[0], gap), share: Quantity::ratio((gap / span).abs()), at })
    }

    /// The straight line that fits readings best, and the reading furthest from it.
    ///
    /// Least squares of the readings over the positions. Fields: `start` and `slope` (bare numbers, in SI units: volts per radian,
    /// for instance), `furthest`, `at`.
    ///
    /// Errors: fewer than two readings; lists of unequal length; positions that turn back.
    ///
    /// Source: least-squares line: any statistics text, checked against a scientific library.
    ///
    /// ```rhai
    /// best_fit([0.s, 1.s, 2.s, 3.s], [1.V, 3.1.V, 4.9.V, 7.V])  // start 1.03, slope 1.98, furthest 90 mV, at 1 s
    /// ```
    fn best_fit(positions: Anys, readings: Anys) -> Line {
        paired(&positions, &readings, 2)?;
        let points = positions.iter().zip(&readings).map(|(place, reading)| (place.si(), reading.si()));
        let line = best_line(points.clone());
        let (at, off) = furthest(line, points);
        Ok(Line { start: line.0, slope: line.1, furthest: difference(readings[0], off), at: positions[0].with_si(at) })
    }

    /// How far the line of `best_fit` can be trusted: its uncertainties and its correlation.
    ///
    /// Scatter² = sum of the squared distances from the line ÷ (readings − 2). Standard uncertainties (one standard deviation):
    /// of the slope, scatter ÷ √Sxx; of the start, scatter × √(1/n + mean position² ÷ Sxx). r = Sxy ÷ √(Sxx × Syy). Fields: `r`,
    /// `start_uncertainty` and `slope_uncertainty` (bare numbers, in SI units as in `best_fit`), `scatter`.
    ///
    /// Errors: fewer than three readings; lists of unequal length; positions that turn back.
    ///
    /// Source: least-squares line: any statistics text; example checked against a scientific library.
    ///
    /// ```rhai
    /// best_fit_trust([0.s, 1.s, 2.s, 3.s], [1.V, 3.1.V, 4.9.V, 7.V])  // r 0.9995412, start uncertainty 0.07937254, slope uncertainty 0.04242641, scatter 94.87 mV
    /// ```
    fn best_fit_trust(positions: Anys, readings: Anys) -> LineTrust {
        paired(&positions, &readings, 3)?;
        let points = positions.iter().zip(&readings).map(|(place, reading)| (place.si(), reading.si()));
        let (start, slope) = best_line(points.clone());
        let count = positions.len() as f64;
        let mean = |values: &[Quantity]| values.iter().map(|value| value.si() / count).sum::<f64>();
        let (mean_x, mean_y) = (mean(&positions), mean(&readings));
        let squares = |values: &[Quantity], mean: f64| values.iter().map(|value| (value.si() - mean).powi(2)).sum::<f64>();
        let (sxx, syy) = (squares(&positions, mean_x), squares(&readings, mean_y));
        let rest: f64 = points.map(|(x, y)| (y - start - slope * x).powi(2)).sum();
        let scatter = (rest / (count - 2.0)).sqrt();
        Ok(LineTrust {
            r: (syy > 0.0).then(|| (slope * (sxx / syy).sqrt()).clamp(-1.0, 1.0)),
            start_uncertainty: scatter * (1.0 / count + mean_x * mean_x / sxx).sqrt(),
            slope_uncertainty: scatter / sxx.sqrt(),
            scatter: difference(readings[0], scatter),
        })
    }
}

/// A difference of readings: of temperatures, kelvin.
fn difference(reading: Quantity, si: f64) -> Quantity {
    Quantity::new(si, reading.dimension().difference())
}

/// A noise or jump in kelvin stands beside readings in degrees.
fn difference_like(amount: Quantity, reading: Quantity) -> Quantity {
    if reading.dimension().is_absolute() && amount.dimension() == reading.dimension().difference() {
        reading.with_si(amount.si())
    } else {
        amount
    }
}

fn judged(travel: &Travel<'_>, dropouts: Vec<Spot>) -> Sweep {
    let good = travel.good();
    let first = good[0];
    let (mut dead_ends, mut stuck) = (Vec::new(), Vec::new());
    for (from, to) in travel.still(&good, 2) {
        let spot = travel.spot(good[from], good[to], good[from]);
        if from == 0 || to + 1 == good.len() {
            dead_ends.push(spot);
        } else if to - from >= 2 {
            stuck.push(spot);
        }
    }
    let extreme = |higher: bool| {
        good.iter().copied().fold(first, |best, at| {
            let further = if higher {
                travel.reading(at) > travel.reading(best)
            } else {
                travel.reading(at) < travel.reading(best)
            };
            if further { at } else { best }
        })
    };
    let (lowest, highest) = (extreme(false), extreme(true));
    let points = good.iter().map(|&at| (travel.positions[at].si(), travel.reading(at)));
    let (at, off) = furthest(best_line(points.clone()), points);
    // What rounding leaves of decimal readings on a straight line is no deviation.
    let off =
        if off.abs() <= 1e-12 * travel.reading(highest).abs().max(travel.reading(lowest).abs()) { 0.0 } else { off };
    let span = travel.gone(&good).abs();
    let reversals = travel.reversals(&good);
    Sweep {
        direction: travel.direction(&good),
        span: difference(travel.readings[0], span),
        lowest: travel.readings[lowest],
        lowest_at: travel.positions[lowest],
        highest: travel.readings[highest],
        highest_at: travel.positions[highest],
        monotonic: reversals.is_empty(),
        reversals,
        dropouts,
        steps: travel.steps(&good),
        dead_ends,
        stuck,
        linearity: Quantity::ratio(if span > 0.0 { off.abs() / span } else { 0.0 }),
        linearity_at: travel.positions[0].with_si(at),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::rngs::StdRng;
    use rand::{RngExt, SeedableRng};

    fn sweep(readings: &[f64]) -> Sweep {
        let positions = (0..readings.len()).map(|index| Quantity::ratio(index as f64 / 100.0)).collect();
        let readings = readings.iter().copied().map(Quantity::volts).collect();
        analyse_sweep(positions, readings, Quantity::volts(0.02), Quantity::volts(0.8)).unwrap()
    }

    fn places(spots: &[Spot]) -> Vec<String> {
        spots.iter().map(Spot::to_string).collect()
    }

    #[test]
    fn a_good_sweep_has_nothing_to_say() {
        let good = sweep(&[0.5, 1.0, 1.5, 2.0, 2.5, 3.0]);
        assert!(good.monotonic && good.reversals.is_empty() && good.dropouts.is_empty() && good.steps.is_empty());
        assert!(good.stuck.is_empty() && good.dead_ends.is_empty());
        assert_eq!((good.direction, good.span.si()), (Direction::Rising, 2.5));
        assert!(good.linearity.si() < 1e-12);
    }

    #[test]
    fn a_dropout_of_one_or_several_readings_is_found_where_it_was() {
        assert_eq!(places(&sweep(&[0.5, 1.0, 0.0, 2.0, 2.5]).dropouts), ["0 V at 2 %"]);
        assert_eq!(places(&sweep(&[0.5, 1.0, 1.5, 0.1, 0.0, 3.0, 3.5]).dropouts), ["0 V from 3 % to 4 %"]);
        assert_eq!(places(&sweep(&[4.5, 4.0, 5.0, 3.0, 2.5, 2.0]).dropouts), ["5 V at 2 %"]);
    }

    #[test]
    fn dropouts_put_into_random_sweeps_are_found_there_and_nowhere_else() {
        let mut random = StdRng::seed_from_u64(3);
        for _ in 0..2000 {
            let count = random.random_range(12..60);
            let falling = random.random_range(0..2) == 0;
            // From 1.5 V by steps well below a jump, with a wander below the noise.
            let mut readings: Vec<f64> = (0..count)
                .map(|at| 1.5 + 3.0 * f64::from(at) / f64::from(count) + random.random_range(-0.009..0.009))
                .collect();
            if falling {
                readings.reverse();
            }
            let count = readings.len();
            let (length, clean) = (random.random_range(0..4), readings.clone());
            let start = random.random_range(1..count - 4);
            for reading in &mut readings[start..start + length] {
                *reading = random.random_range(0.0..0.3);
            }
            let found = sweep(&readings);
            let places: Vec<_> = found.dropouts.iter().map(|spot| (spot.from.si(), spot.to.si())).collect();
            let place = |index: usize| index as f64 / 100.0;
            let wanted = if length > 0 { vec![(place(start), place(start + length - 1))] } else { vec![] };
            assert_eq!(places, wanted, "{readings:?}");
            assert!(found.monotonic && found.steps.is_empty(), "{found} of {readings:?}");
            assert_eq!(found.direction, if falling { Direction::Falling } else { Direction::Rising });
            assert_eq!(found.span.si(), (clean[count - 1] - clean[0]).abs());
        }
    }

    #[test]
    fn a_step_stays_and_is_no_dropout() {
        let stepped = sweep(&[0.5, 0.7, 0.9, 2.9, 3.1, 3.3]);
        assert_eq!(places(&stepped.steps), ["2.9 V from 2 % to 3 %"]);
        assert!(stepped.dropouts.is_empty() && stepped.monotonic);
    }

    #[test]
    fn dead_ends_and_a_stuck_middle_are_told_apart() {
        let dead = sweep(&[0.5, 0.5, 0.51, 1.0, 1.5, 1.5, 1.51, 2.0, 2.5, 2.5]);
        assert_eq!(places(&dead.dead_ends), ["500 mV from 0 % to 2 %", "2.5 V from 8 % to 9 %"]);
        assert_eq!(places(&dead.stuck), ["1.5 V from 4 % to 6 %"]);
    }

    #[test]
    fn going_back_in_many_small_steps_is_one_reversal() {
        let back = sweep(&[0.5, 1.0, 1.5, 1.49, 1.47, 1.4, 1.3, 1.6, 2.0]);
        assert!(!back.monotonic);
        assert_eq!(places(&back.reversals), ["1.3 V from 2 % to 6 %"]);
        let falling = sweep(&[3.0, 2.5, 2.7, 2.0, 1.5]);
        assert_eq!(
            (falling.direction, places(&falling.reversals)),
            (Direction::Falling, vec!["2.7 V from 1 % to 2 %".to_owned()])
        );
    }

    #[test]
    fn positions_that_turn_back_are_refused_with_their_place() {
        let positions = [0.0, 0.1, 0.05].map(Quantity::ratio).to_vec();
        let error = best_fit(positions, [1.0, 2.0, 3.0].map(Quantity::volts).to_vec()).unwrap_err();
        assert_eq!(error.to_string(), "best_fit: positions must run one way, and turns back at value 3, 5 %");
    }
}
