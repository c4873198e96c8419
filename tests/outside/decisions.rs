//! Meter accuracy, verdicts with a guard band, probability, uncertainty.

use crate::check::{Check, Source, Status, figures, list, q, values};
use ohmwright::electrical::accuracy::*;
use ohmwright::electrical::error::HelperError;
use ohmwright::electrical::uncertainty::*;
use ohmwright::model::quantity::Quantity;

const ACCURACY: Source =
    Source::seen("a meter's accuracy as its manufacturer states it: percent of the reading and counts")
        .known(Status::Computed);
const ILAC: Source = Source::seen("ILAC-G8:09/2019").known(Status::Computed);
const RISK: Source = Source::seen("Sandia National Laboratories, suncal, API manual");
const CONFORMITY: Source = Source::seen("JCGM 106:2012").known(Status::FromMemory);
const GUIDE: Source = Source::seen("JCGM 100:2008 (GUM)").known(Status::FromMemory);
const WORKED: Source = Source::seen("Measurement Standards Laboratory of New Zealand, GTC, documentation");
const LESSONS: Source = Source::seen("Lessons in Electric Circuits, vol. I (DC)");
const UNCERTAINTIES: Source = Source::seen("uncertainties 3.2.3").known(Status::Computed);

type Answer = Result<Quantity, HelperError>;

/// Highest and lowest that a reading may stand for.
fn upper(reading: &str, accuracy: Answer) -> Answer {
    accuracy.map(|accuracy| accuracy.with_si(q(reading).si() + accuracy.si()))
}
fn lower(reading: &str, accuracy: Answer) -> Answer {
    accuracy.map(|accuracy| accuracy.with_si(q(reading).si() - accuracy.si()))
}
/// A normal distribution's share below a limit that lies this many standard uncertainties above the reading.
fn below(z: f64) -> Answer {
    probability_in_limits(q("0 V"), q("-1000 V"), Quantity::volts(z), q("1 V"))
}

/// The rest of a probability.
fn outside(inside: Answer) -> Answer {
    inside.map(|inside| Quantity::ratio(1.0 - inside.si()))
}

fn accuracy_figures(checks: &mut Vec<Check>) {
    let first = || meter_accuracy(q("2.000 V"), q("0.08 pct"), 2.0, q("1 mV"));
    let second = || meter_accuracy(q("100.0 V"), q("1 pct"), 2.0, q("0.1 V"));
    let third = || meter_accuracy(q("100.0 V"), q("0.8 pct"), 2.0, q("0.1 V"));
    let fourth = || meter_accuracy(q("2 V"), q("0.5 pct"), 3.0, q("1 mV"));
    figures!(checks, ACCURACY.at("worked by hand");
        first() => "0.0036 V",
        lower("2.000 V", first()) => "1.9964 V",
        upper("2.000 V", first()) => "2.0036 V",
        lower("100.0 V", second()) => "98.8 V",
        upper("100.0 V", second()) => "101.2 V",
        third() => "1.0 V",
        lower("100.0 V", third()) => "99.0 V",
        upper("100.0 V", third()) => "101.0 V",
        fourth() => "0.013 V",
        lower("2 V", fourth()) => "1.987 V",
        upper("2 V", fourth()) => "2.013 V",
    );
}

fn guard_bands(checks: &mut Vec<Check>) {
    // The rule was seen, the numbers are of our choosing: the statement's four zones, with w = 0.1 V at limits of 9 and 10 V:
    // inside by w and more, in the band inside, in the band outside, beyond.
    for (reading, want) in [
        ("9.5 V", "surely in"),
        ("9.9 V", "surely in"),
        ("9.95 V", "in but unsure"),
        ("10 V", "in but unsure"),
        ("10.05 V", "out but unsure"),
        ("10.1 V", "out but unsure"),
        ("10.11 V", "surely out"),
        ("9.05 V", "in but unsure"),
        ("8.95 V", "out but unsure"),
        ("8.89 V", "surely out"),
    ] {
        let got = guard_band(q(reading), q("9 V"), q("10 V"), q("0.1 V")).map(|guarded| guarded.outcome);
        checks.push(Check::text(
            &format!("guard_band({reading})"),
            got,
            want,
            ILAC.at("pp. 8-10, non-binary statement"),
        ));
    }
    for (reading, want) in [("0.19 V", "surely in"), ("0.205 V", "out but unsure"), ("0.22 V", "surely out")] {
        let got = guard_band_at_most(q(reading), q("0.2 V"), q("0.01 V")).map(|guarded| guarded.outcome);
        checks.push(Check::text(&format!("guard_band_at_most({reading})"), got, want, ILAC.at("pp. 8-10, one limit")));
    }
}

fn probabilities(checks: &mut Vec<Check>) {
    values!(checks, RISK.at("6, y 9.8, u 0.1, limits 9 to 10");
        outside(probability_in_limits(q("9.8 V"), q("9 V"), q("10 V"), q("0.1 V"))) => "0.02275 ratio",
    );
    values!(checks, CONFORMITY.at("clause 7, breakdown voltage -5.47 V, u 0.05 V, at most -5.40 V");
        probability_in_limits(q("-5.47 V"), q("-100 V"), q("-5.40 V"), q("0.05 V")) => "0.92 ratio",
    );
    values!(checks, CONFORMITY.at("Table 1");
        below(0.84) => "0.80 ratio",
        below(1.28) => "0.90 ratio",
        below(1.64) => "0.95 ratio",
        below(2.33) => "0.99 ratio",
        below(3.09) => "0.999 ratio",
    );
}

fn uncertainties(checks: &mut Vec<Check>) {
    values!(checks, GUIDE.at("4.3.7, examples 1 and 2");
        standard_uncertainty(q("0.40 ppm")) => "0.23 ppm",
        meter_accuracy(q("0.928571 V"), q("14 ppm"), 2.0, q("1 uV")) => "15 uV",
        standard_uncertainty(q("15 uV")) => "8.7 uV",
    );
    // V 4.999 (3.2e-3), I 19.661 mA (9.5e-6 A), r −0.36: the impedance's uncertainty, from the rounded inputs.
    let volts = || (q("4.999 V"), q("3.2 mV"));
    let amperes = || (q("19.661 mA"), q("9.5 uA"));
    values!(checks, WORKED.at("example of GUM H.2, from its rounded inputs");
        correlated_ratio_uncertainty(volts().0, volts().1, amperes().0, amperes().1, q("-36 pct")) => "0.24 ohm",
        volts().0.over(amperes().0).map_err(|_| unreachable!()) => "254.26 ohm",
    );
    // The parts of the end gauge's uncertainty, in nanometres, written as millivolts.
    let parts = ["25 mV", "16.599 mV", "6.7 mV", "5.8 mV", "3.9 mV", "2.887 mV"];
    values!(checks, WORKED.at("example of GUM H.1, its components");
        combined_uncertainty(list(&parts)) => "32 mV",
    );
    values!(checks, GUIDE.at("H.1, the length's difference");
        combined_uncertainty(list(&["5.8 mV", "3.9 mV", "6.7 mV"])) => "9.7 mV",
    );
    values!(checks, LESSONS.at("ch. 8, Kelvin (4-wire) resistance measurement");
        ratio_worst_case(q("10 V"), q("0.1 V"), q("10 A"), q("0.1 A")).map(|ohms| Quantity::ratio(ohms.si())) => "2 pct",
    );
    values!(checks, UNCERTAINTIES.at("12.6±0.1 over 3.0±0.05");
        ratio_uncertainty(q("12.6 V"), q("0.1 V"), q("3.0 A"), q("0.05 A")) => "0.08 ohm",
    );
}

pub fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    accuracy_figures(&mut checks);
    guard_bands(&mut checks);
    probabilities(&mut checks);
    uncertainties(&mut checks);
    checks
}
