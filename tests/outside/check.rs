//! A published value, its source, and whether a helper meets it.

use ohmwright::electrical::error::HelperError;
use ohmwright::model::quantity::Quantity;
use ohmwright::model::unit::Unit;

/// How the value is known.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Status {
    /// Read in the source, or in a copy of it that the source's title names.
    Seen,
    /// Recalled; nobody looked it up for this table.
    FromMemory,
    /// The formula or the constants were seen, the figure was computed from them by another program.
    Computed,
    /// The trade does so; no published source.
    CommonPractice,
}

/// Where a value stands.
#[derive(Clone, Copy, Debug)]
pub struct Source {
    /// Title and edition.
    pub title: &'static str,
    /// Table, page, chapter.
    pub place: &'static str,
    /// How it is known.
    pub status: Status,
}

impl Source {
    /// Read in the source.
    pub const fn seen(title: &'static str) -> Self {
        Self { title, place: "", status: Status::Seen }
    }

    /// At this table, page or chapter.
    pub const fn at(self, place: &'static str) -> Self {
        Self { place, ..self }
    }

    /// The same source, known otherwise.
    pub const fn known(self, status: Status) -> Self {
        Self { status, ..self }
    }
}

/// A value and what a helper makes of it.
pub struct Check {
    /// The call.
    pub what: String,
    /// What is printed in the source.
    pub want: &'static str,
    /// Where.
    pub source: Source,
    /// Whether the figure is exact, as a limit or a definition is, and not rounded.
    exact: bool,
    got: Result<Got, HelperError>,
}

enum Got {
    Quantity(Quantity),
    Number(f64),
    Text(String),
}

impl Check {
    pub fn quantity(what: &str, got: Result<Quantity, HelperError>, want: &'static str, source: Source) -> Self {
        Self { what: what.to_owned(), want, source, exact: false, got: got.map(Got::Quantity) }
    }

    pub fn figure(what: &str, got: Result<Quantity, HelperError>, want: &'static str, source: Source) -> Self {
        Self { exact: true, ..Self::quantity(what, got, want, source) }
    }

    pub fn number(what: &str, got: Result<f64, HelperError>, want: &'static str, source: Source) -> Self {
        Self { what: what.to_owned(), want, source, exact: false, got: got.map(Got::Number) }
    }

    pub fn text(what: &str, got: Result<impl ToString, HelperError>, want: &'static str, source: Source) -> Self {
        Self { what: what.to_owned(), want, source, exact: false, got: got.map(|text| Got::Text(text.to_string())) }
    }

    /// What is wrong, if anything.
    pub fn missed(&self) -> Option<String> {
        let near = if self.exact { is } else { near };
        let found = match &self.got {
            Ok(Got::Quantity(quantity)) => {
                let (number, unit) = printed(self.want);
                let unit: Unit = unit.parse().unwrap();
                if quantity.dimension() == unit.dimension() && near(unit.number(*quantity), number) {
                    return None;
                }
                quantity.show(9)
            }
            Ok(Got::Number(number)) if near(*number, self.want) => return None,
            Ok(Got::Number(number)) => number.to_string(),
            Ok(Got::Text(text)) if text == self.want => return None,
            Ok(Got::Text(text)) => text.clone(),
            Err(error) => error.to_string(),
        };
        let Source { title, place, status } = self.source;
        Some(format!("{}: {found}, and {title} {place} ({status:?}) has {}", self.what, self.want))
    }
}

/// `0.942 V` as number and unit.
fn printed(want: &str) -> (&str, &str) {
    want.split_once(' ').unwrap_or((want, ""))
}

/// Within half a unit of the last digit that is printed, and no more.
fn near(got: f64, printed: &str) -> bool {
    let (mantissa, exponent) =
        printed.split_once('e').map_or((printed, 0), |(mantissa, rest)| (mantissa, rest.parse().unwrap()));
    let decimals = mantissa.split_once('.').map_or(0, |(_, fraction)| fraction.len() as i32);
    let want: f64 = printed.parse().unwrap();
    // The tiny factor lets a figure that lies exactly between two printed ones pass either way.
    (got - want).abs() <= 0.5 * 10f64.powi(exponent - decimals) * (1.0 + 1e-9)
}

/// The very figure that is printed, but for the rounding of a few operations.
fn is(got: f64, printed: &str) -> bool {
    let want: f64 = printed.parse().unwrap();
    (got - want).abs() <= 1e-9 * want.abs().max(1.0)
}

/// A quantity as written in a configuration file: `12.6 V`.
pub fn q(text: &str) -> Quantity {
    text.parse().unwrap()
}

/// A list of them.
pub fn list(texts: &[&str]) -> Vec<Quantity> {
    texts.iter().map(|text| q(text)).collect()
}

/// `call => "printed value"` lines of one source.
macro_rules! values {
    ($checks:ident, $source:expr; $($got:expr => $want:literal),+ $(,)?) => {
        $($checks.push($crate::check::Check::quantity(stringify!($got), $got, $want, $source));)+
    };
}
pub(crate) use values;

/// The same for figures that are exact: limits, definitions, sums of exact parts.
macro_rules! figures {
    ($checks:ident, $source:expr; $($got:expr => $want:literal),+ $(,)?) => {
        $($checks.push($crate::check::Check::figure(stringify!($got), $got, $want, $source));)+
    };
}
pub(crate) use figures;

#[test]
fn half_a_unit_of_the_last_digit_and_no_more() {
    assert!(near(0.9416, "0.942") && near(0.9425, "0.942") && !near(0.9426, "0.942") && !near(0.9414, "0.942"));
    assert!(near(20.4, "20") && !near(20.6, "20") && near(1.05e-5, "1.0e-5") && !near(1.06e-5, "1.0e-5"));
    let volts = |volts, want| Check::figure("", Ok(Quantity::volts(volts)), want, Source::seen("")).missed();
    assert!(volts(27.0, "27 V").is_none() && volts(26.9, "27 V").is_some() && volts(0.5000001, "500 mV").is_some());
    assert!(Check::quantity("", Ok(Quantity::volts(1.0)), "1 A", Source::seen("")).missed().is_some());
}
