//! The classic mistakes, asked about once: decimal point, meter range, swapped leads, unit.

use crate::model::dimension::Dimension;
use crate::model::doubt::Doubt;
use crate::model::limits::{Limits, Sureness, Verdict};
use crate::model::prompt::Ends;
use crate::model::quantity::Quantity;
use crate::model::typed;
use crate::model::unit::Unit;
use std::cmp::Ordering;

/// How near to the expected value a reading must come, once its decimal point is moved, to be doubted although its
/// limits are wide: one part in ten (common practice, no source).
const NEAR_EXPECTED: f64 = 0.1;

/// A bare number with a decimal point up to this can be a reading in the plain unit: no vehicle's battery shows more volts
/// (common practice, no source).
const AS_VOLTS: f64 = 60.0;

/// No 24 V system has more volts than this while it is sound (common practice, no source).
const OF_24_VOLTS: f64 = 30.0;

/// What is odd about a reading, if anything. `every`: whatever is found odd today; older records were asked about less.
pub fn about(typed: &str, value: Quantity, limits: &Limits, verdict: Option<Verdict>, every: bool) -> Option<Doubt> {
    let fits = limits.hold(value);
    // As nearly every reading: in, neither below zero nor beyond a vehicle, in the unit without a prefix. Only how sure it is
    // can be asked about.
    if fits && (0.0..=AS_VOLTS).contains(&value.si()) && limits.expected().is_none() && !limits.unit.has_prefix() {
        return unsure(verdict);
    }
    if let Some((factor, would_be)) = power_of_ten(value, limits, fits) {
        return Some(Doubt::PowerOfTen { factor, would_be });
    }
    if !fits && limits.hold(value.negated()) && opposite_signs(value, limits)
        || every && further_below_than_above(value, limits)
    {
        return Some(Doubt::LeadsSwapped);
    }
    if typed::is_bare(typed)
        && let Some(doubt) = other_unit(typed, value, limits, fits)
            .or_else(|| other_prefix(typed, value, limits, fits).filter(|_| every))
    {
        return Some(doubt);
    }
    if every && beyond_a_vehicle(value, limits) {
        return Some(Doubt::BeyondVehicle);
    }
    unsure(verdict)
}

fn unsure(verdict: Option<Verdict>) -> Option<Doubt> {
    match verdict.map(|verdict| verdict.sureness) {
        Some(Sureness::Unsure { accuracy }) => Some(Doubt::Unsure { accuracy }),
        _ => None,
    }
}

/// What is odd about a reading of a sweep, in words. Nothing is asked within a sweep: whoever types is told, and goes on.
pub fn of_a_sweep(value: Quantity, ends: &Ends) -> Option<String> {
    let (low, high) = if ends.one.si() <= ends.other.si() { (ends.one, ends.other) } else { (ends.other, ends.one) };
    let span = high.si() - low.si();
    let inside = |si: f64| si >= low.si() - ends.tolerance.si() && si <= high.si() + ends.tolerance.si();
    let number = value.si();
    if inside(number) || value.dimension().is_absolute() || !number.is_finite() {
        return None;
    }
    // A signal may lie below zero by a little, and above its supply by a little.
    if low.si() >= 0.0 && number < -0.1 * span && inside(-number) {
        return Some("Negative reading: red and black swapped?".to_owned());
    }
    let far_out = number > high.si() + 0.5 * span || number < low.si() - 0.5 * span;
    let would_be = [-1, -2, -3].map(|power| value.with_si(number * 10f64.powi(power)));
    match would_be.into_iter().find(|would_be| inside(would_be.si())) {
        Some(would_be) if far_out => Some(format!(
            "Far beyond the ends. Expected about {}. Decimal slip, or wrong range?",
            ends.unit.show(would_be, 5)
        )),
        _ => None,
    }
}

/// What is odd about a lowest and a highest: either has the sign of swapped leads or more volts than there are, or both are
/// off by the same power of ten. A lowest alone may be next to nothing: that is what is looked for.
pub fn of_two(lowest: Quantity, highest: Quantity, limits: &Limits) -> Option<Doubt> {
    let [low, high] = [lowest, highest].map(|value| about("", value, limits, None, true));
    if [lowest, highest].into_iter().any(|value| beyond_a_vehicle(value, limits)) {
        return Some(Doubt::BeyondVehicle);
    }
    match (low, high) {
        (Some(Doubt::LeadsSwapped), _) | (_, Some(Doubt::LeadsSwapped)) => Some(Doubt::LeadsSwapped),
        (Some(Doubt::PowerOfTen { factor: one, .. }), Some(Doubt::PowerOfTen { factor, would_be }))
            if one == factor =>
        {
            Some(Doubt::PowerOfTen { factor, would_be })
        }
        _ => None,
    }
}

fn power_of_ten(value: Quantity, limits: &Limits, fits: bool) -> Option<(f64, Quantity)> {
    if value.si() == 0.0 || value.dimension().is_absolute() || !limits.are_narrow() {
        return None;
    }
    let near = |candidate: Quantity| match limits.expected() {
        Some(expected) => (candidate.si() - expected.si()).abs() <= NEAR_EXPECTED * expected.si().abs(),
        None => true,
    };
    if fits && (limits.expected().is_none() || near(value)) {
        return None;
    }
    [1, -1, 2, -2, 3, -3, 6, -6].into_iter().find_map(|power| {
        let factor = 10f64.powi(power);
        let would_be = value.with_si(value.si() * factor);
        // Wide limits with an expected value: the moved point must land at that value, not merely inside.
        let lands = if limits_are_wide(limits) { near(would_be) } else { true };
        (limits.hold(would_be) && lands).then_some((factor, would_be))
    })
}

fn limits_are_wide(limits: &Limits) -> bool {
    match (limits.low(), limits.high()) {
        (Some(low), Some(high)) => !(low.si() > 0.0 && high.si() / low.si() < 2.0),
        _ => true,
    }
}

fn opposite_signs(value: Quantity, limits: &Limits) -> bool {
    if value.dimension().is_absolute() {
        return false;
    }
    let zero = value.with_si(0.0);
    let side = |limit: Option<Quantity>| limit.and_then(|limit| limit.compare(zero).ok());
    match (side(limits.low()), side(limits.high())) {
        (Some(Ordering::Greater), _) => value.si() < 0.0,
        (_, Some(Ordering::Less)) => value.si() > 0.0,
        _ => false,
    }
}

/// Below zero by more than the reading may be above it: turned round, it would be too high. A drop of 0.9 V that shows as
/// -0.9 V is no good drop, whether or not the limits reach that far down.
fn further_below_than_above(value: Quantity, limits: &Limits) -> bool {
    let down_to_zero = limits.low().is_none_or(|low| low.si() <= 0.0);
    let above = |high: Quantity| high.si() > 0.0 && -value.si() > high.si();
    !value.dimension().is_absolute() && down_to_zero && limits.high().is_some_and(above)
}

/// A bare number that may be in the plain unit: `0.15` or `4.397` at a prompt in millivolts, off a meter that shows volts.
fn other_unit(typed: &str, value: Quantity, limits: &Limits, fits: bool) -> Option<Doubt> {
    let plain = limits.unit.without_prefix();
    if plain == limits.unit {
        return None;
    }
    let number = limits.unit.number(value);
    let in_plain = plain.quantity(number);
    let smaller = plain.quantity(1.0).si() > limits.unit.quantity(1.0).si();
    // Good as millivolts and far out as volts: the costly one, since nothing else would show it. A range of millivolts shows one
    // digit behind the point, a range of volts two or three (common practice, no source).
    let of_a_plain_range = typed.trim().rsplit_once(['.', ',']).is_some_and(|(_, behind)| behind.len() >= 2);
    let hidden = fits && smaller && !limits.hold(in_plain) && of_a_plain_range && number.abs() <= AS_VOLTS;
    if hidden {
        return Some(Doubt::Unit { shown: limits.unit, other: plain });
    }
    if number == 0.0 || !limits.hold(in_plain) {
        return None;
    }
    // Inside both ways: a meter that shows millivolts shows no thousandths of one.
    let odd = if fits { number.abs() < 1.0 && smaller } else { true };
    odd.then_some(Doubt::Unit { shown: limits.unit, other: plain })
}

/// A bare number at a prompt in the plain unit that would be right with a prefix: more volts than a 24 V system has, or as many
/// amperes, that would be good as thousandths (`68`, `120.4`, off a meter on millivolts); a whole number of volts where tenths
/// are asked for, since a meter on volts shows a point (`12`, off a meter on millivolts); ohms that would be good as kilohms.
fn other_prefix(typed: &str, value: Quantity, limits: &Limits, fits: bool) -> Option<Doubt> {
    if fits || limits.unit != limits.unit.without_prefix() || value.si() == 0.0 {
        return None;
    }
    let other = match limits.unit.dimension() {
        Dimension::VOLTAGE if value.si().abs() > OF_24_VOLTS || !typed.contains(['.', ',']) && of_tenths(limits) => {
            "mV"
        }
        Dimension::CURRENT if value.si().abs() > OF_24_VOLTS => "mA",
        Dimension::RESISTANCE => "kohm",
        _ => return None,
    };
    let other: Unit = other.parse().ok()?;
    limits.hold(other.quantity(limits.unit.number(value))).then_some(Doubt::Unit { shown: limits.unit, other })
}

/// Whether tenths of a volt are the most that is good.
fn of_tenths(limits: &Limits) -> bool {
    limits.high().is_some_and(|high| high.si() < 1.0) && limits.low().is_none_or(|low| low.si() > -1.0)
}

/// From so many volts on, live parts are made dead before work (29 CFR 1910.333(a)(1), from memory).
const DANGEROUS: f64 = 50.0;

/// A voltage that can kill, where the limits are those of a low-voltage circuit.
pub fn is_dangerous(value: Quantity, limits: &Limits) -> bool {
    let is_low = |limit: Option<Quantity>| limit.is_none_or(|limit| limit.si().abs() < DANGEROUS);
    value.dimension() == Dimension::VOLTAGE
        && value.si().abs() >= DANGEROUS
        && [limits.low(), limits.high(), limits.expected()].into_iter().all(is_low)
}

/// More volts than a sound 24 V system has, and no more than an alternator without its regulator gives: on a 24 V job that is a
/// finding, and not a slip (common practice, no source).
pub fn is_high_on_24_volts(shown: Option<&typed::Shown>, doubt: &Doubt) -> bool {
    let is_slip = matches!(doubt, Doubt::Unit { .. } | Doubt::PowerOfTen { .. });
    let is_high = |value: &Quantity| value.dimension() == Dimension::VOLTAGE && (28.0..=40.0).contains(&value.si());
    is_slip && matches!(shown, Some(typed::Shown::Value(value)) if is_high(value))
}

/// More volts than any low-voltage circuit has, where the limits are those of one.
fn beyond_a_vehicle(value: Quantity, limits: &Limits) -> bool {
    let ordinary = |limit: Option<Quantity>| limit.is_none_or(|limit| limit.si() <= AS_VOLTS);
    value.dimension() == Dimension::VOLTAGE
        && value.si().abs() > AS_VOLTS
        && [limits.low(), limits.high(), limits.expected()].into_iter().all(ordinary)
}

/// More volts than this system can show, where no limit allows them. A system that is charged or started with a booster of its
/// own voltage stays below; 31 V in a 24 V system is HIGH, and no slip (common practice, no source).
pub fn beyond_the_system(value: Quantity, limits: &Limits, nominal: Option<Quantity>) -> bool {
    let most = match nominal {
        Some(nominal) if nominal.si() < 18.0 => 20.0,
        _ => 33.0,
    };
    let ordinary = |limit: Option<Quantity>| limit.is_none_or(|limit| limit.si() <= most);
    value.dimension() == Dimension::VOLTAGE
        && value.si().abs() > most
        && !limits.hold(value)
        && [limits.low(), limits.high(), limits.expected()].into_iter().all(ordinary)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn doubt(typed: &str, limits: &Limits) -> Option<Doubt> {
        let typed::Shown::Value(value) = typed::read(typed, limits.unit).unwrap() else { panic!("{typed}") };
        about(typed, value, limits, None, true)
    }

    fn volts(low: f64, high: f64) -> Limits {
        Limits::between(Quantity::volts(low), Quantity::volts(high)).unwrap()
    }

    #[test]
    fn a_slipped_decimal_point_is_doubted_in_narrow_limits_only() {
        // Common practice, no source: rests at 3.7 V, reads 0.37 V: first a question about the meter's range.
        assert!(matches!(doubt("0.37", &volts(3.5, 3.9)), Some(Doubt::PowerOfTen { factor: 10.0, .. })));
        assert!(matches!(doubt("49.98", &volts(4.75, 5.25)), Some(Doubt::PowerOfTen { .. })));
        assert!(matches!(doubt("4998", &volts(4.75, 5.25)), Some(Doubt::PowerOfTen { .. })));
        assert_eq!(doubt("3.2", &volts(3.5, 3.9)), None);
        assert_eq!(doubt("0.05", &volts(0.3, 4.7)), None);
        let mut wide = volts(0.2, 4.8);
        wide.expected = Some(Quantity::volts(3.7));
        assert!(matches!(doubt("0.37", &wide), Some(Doubt::PowerOfTen { .. })));
        assert_eq!(doubt("3.6", &wide), None);
        assert_eq!(doubt("1.2", &wide), None);
    }

    #[test]
    fn a_reversed_sign_is_doubted() {
        assert_eq!(doubt("-4.998", &volts(4.75, 5.25)), Some(Doubt::LeadsSwapped));
        assert_eq!(doubt("-0.02", &volts(0.0, 0.2)), None);
    }

    #[test]
    fn a_drop_further_below_zero_than_it_may_be_above_is_doubted_inside_its_limits_too() {
        let most = Limits::at_most(Quantity::volts(1.0)).unwrap();
        for limits in [&volts(-1.0, 0.3), &volts(-0.3, 0.3), &volts(0.0, 0.3)] {
            assert_eq!(doubt("-0.9 V", limits), Some(Doubt::LeadsSwapped), "{limits}");
            assert_eq!(doubt("-12.4 V", limits), Some(Doubt::LeadsSwapped), "{limits}");
            // The other way round it would be good, too.
            assert_eq!(doubt("-0.3 V", limits), None, "{limits}");
            assert_eq!(doubt("0.9 V", limits), None, "{limits}");
        }
        assert_eq!(doubt("-12.4", &most), Some(Doubt::LeadsSwapped));
        assert_eq!(doubt("-12.4", &Limits::at_least(Quantity::volts(-1.0)).unwrap()), None);
        let cold = Limits::at_most("degC".parse::<Unit>().unwrap().quantity(10.0)).unwrap();
        assert_eq!(doubt("-40", &cold), None);
        let warm = Limits::between(
            "degF".parse::<Unit>().unwrap().quantity(41.0),
            "degF".parse::<Unit>().unwrap().quantity(86.0),
        );
        assert_eq!(doubt("-14", &warm.unwrap()), None, "below zero is no sign on a scale");
        // Records from before this was asked are judged as they were.
        let value = Quantity::volts(-0.9);
        assert_eq!(about("-0.9", value, &volts(-1.0, 0.3), None, false), None);
        assert_eq!(
            about("-4.998", Quantity::volts(-4.998), &volts(4.75, 5.25), None, false),
            Some(Doubt::LeadsSwapped)
        );
    }

    #[test]
    fn a_prefix_that_was_not_typed_is_doubted_where_the_reading_would_be_out_without_it() {
        let mut drop = volts(-0.3, 0.3);
        drop.unit = drop.unit.without_prefix();
        for typed in ["31", "68", "120,4", "2", "12", "28"] {
            let Some(Doubt::Unit { other, .. }) = doubt(typed, &drop) else { panic!("{typed}") };
            assert_eq!(other.to_string(), "mV");
        }
        // What a vehicle's circuit can have is no question, and neither is what was typed with its unit.
        for typed in ["2.0", "11.9", "28.0", "0.9", "31 V", "0.2"] {
            assert_eq!(doubt(typed, &drop), None, "{typed}");
        }
        assert_eq!(doubt("900", &drop), Some(Doubt::BeyondVehicle));
        let mut leak = Limits::at_least(Quantity::ohms(10_000.0)).unwrap();
        leak.unit = leak.unit.without_prefix();
        let Some(Doubt::Unit { other, .. }) = doubt("120.0", &leak) else { panic!("120.0") };
        assert_eq!(other.to_string(), "kΩ");
        assert_eq!(doubt("120.0 ohm", &leak), None);
        assert_eq!(doubt("4.7", &leak), None);
        assert_eq!(doubt("12000", &leak), None);
    }

    #[test]
    fn volts_that_no_vehicle_has_are_doubted_and_high_voltage_is_not() {
        assert_eq!(doubt("121", &volts(12.2, 29.0)), Some(Doubt::BeyondVehicle));
        assert_eq!(doubt("121 V", &volts(12.2, 29.0)), Some(Doubt::BeyondVehicle));
        assert_eq!(doubt("41", &volts(12.2, 29.0)), None);
        assert_eq!(doubt("380", &volts(200.0, 450.0)), None);
        let mut older = Limits::at_least(Quantity::volts(9.0)).unwrap();
        assert_eq!(doubt("121", &older), Some(Doubt::BeyondVehicle));
        older.bounds = crate::model::limits::Bounds::Unlimited;
        assert_eq!(doubt("121", &older), Some(Doubt::BeyondVehicle));
    }

    #[test]
    fn fifty_volts_are_dangerous_where_no_limit_allows_them() {
        let danger = |value: f64, limits: &Limits| is_dangerous(Quantity::volts(value), limits);
        let low = volts(12.2, 29.0);
        for (value, is) in [(49.9, false), (50.0, true), (-50.0, true), (230.0, true)] {
            assert_eq!(danger(value, &low), is, "{value}");
        }
        assert!(!danger(380.0, &volts(200.0, 450.0)));
        assert!(!is_dangerous(Quantity::ohms(100.0), &low));
    }

    #[test]
    fn more_volts_than_the_system_has_are_asked_about() {
        let reference = volts(4.75, 5.25);
        let beyond = |value: f64, limits: &Limits, nominal: Option<f64>| {
            beyond_the_system(Quantity::volts(value), limits, nominal.map(Quantity::volts))
        };
        assert!(beyond(37.0, &reference, None) && beyond(37.0, &reference, Some(24.0)));
        assert!(beyond(24.8, &reference, Some(12.0)) && beyond(-24.8, &reference, Some(12.0)));
        // A battery that is charged, on a 24 V job, is HIGH.
        assert!(!beyond(31.0, &volts(24.4, 29.0), Some(24.0)));
        assert!(!beyond(14.9, &volts(12.2, 13.5), Some(12.0)));
        // What a limit allows is no question.
        assert!(!beyond(380.0, &volts(200.0, 450.0), Some(24.0)));
        assert!(!beyond(40.0, &Limits::at_least(Quantity::volts(9.0)).unwrap(), Some(24.0)));
    }

    #[test]
    fn of_a_lowest_and_a_highest_only_what_is_odd_about_both_or_about_the_sign_is_doubted() {
        let two =
            |lowest: f64, highest: f64| of_two(Quantity::volts(lowest), Quantity::volts(highest), &volts(11.5, 14.5));
        assert_eq!(two(-12.5, -12.4), Some(Doubt::LeadsSwapped));
        assert!(matches!(two(1.24, 1.25), Some(Doubt::PowerOfTen { factor: 10.0, .. })));
        assert_eq!(two(12.4, 121.0), Some(Doubt::BeyondVehicle));
        // What is looked for: next to nothing for a moment.
        assert_eq!(two(0.12, 12.6), None);
        assert_eq!(two(0.02, 0.9), None);
    }

    #[test]
    fn a_bare_number_that_fits_two_units_is_doubted() {
        let drop = Limits::at_most(Quantity::volts(0.2)).unwrap();
        assert!(matches!(doubt("0.15", &drop), Some(Doubt::Unit { .. })));
        assert_eq!(doubt("150", &drop), None);
        assert!(matches!(doubt("4.397", &drop), Some(Doubt::Unit { .. })));
        assert_eq!(doubt("4", &drop), None);
        // One digit behind the point, as a range of millivolts shows it.
        assert_eq!(doubt("14.1", &drop), None);
        assert!(matches!(doubt("0.15", &drop), Some(Doubt::Unit { .. })));
        assert_eq!(doubt("150 mV", &drop), None);
        assert_eq!(doubt("0.15 V", &drop), None);
        let coil = Limits::between(Quantity::ohms(1000.0), Quantity::ohms(5000.0)).unwrap();
        assert!(matches!(doubt("2200", &coil), Some(Doubt::Unit { .. })));
    }
}
