//! Reads one table of a circuit file: every key asked for is a known key, every other one is refused.

use super::error::{Flaw, Problem};
use super::gauge::Gauge;
use super::sample::Spread;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use crate::model::words::nearest;
use std::cell::RefCell;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Highest number of characters in a name.
const LONGEST_NAME: usize = 80;

/// One table while it is read.
pub struct Section<'a> {
    table: &'a DeTable<'a>,
    span: Range<usize>,
    asked: RefCell<Vec<&'static str>>,
    shared: &'a Shared,
}

/// What all tables of a file share while it is read.
#[derive(Default)]
pub struct Shared {
    /// Every tolerance, by the number that tells its draw from every other.
    pub spreads: RefCell<Vec<Spread>>,
    /// What was read and can't be meant so.
    pub semantic_errors: RefCell<Vec<Flaw>>,
}

type Item<'a> = &'a Spanned<DeValue<'a>>;
/// A name of the author's, its place, and its value.
type Named<'a> = (&'a str, Range<usize>, Item<'a>);

impl<'a> Section<'a> {
    pub fn new(table: &'a DeTable<'a>, span: Range<usize>, shared: &'a Shared) -> Self {
        Self { table, span, asked: RefCell::default(), shared }
    }

    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Whether the key is there.
    pub fn has(&self, key: &'static str) -> bool {
        self.item(key).is_some()
    }

    pub fn item(&self, key: &'static str) -> Option<Item<'a>> {
        self.asked.borrow_mut().push(key);
        self.table.iter().find(|(name, _)| name.get_ref() == key).map(|(_, value)| value)
    }

    /// Refuses every key that was not asked for.
    pub fn finish(&self) -> Result<(), Flaw> {
        let asked = self.asked.borrow();
        match self.table.keys().find(|key| !asked.iter().any(|known| key.get_ref() == known)) {
            None => Ok(()),
            Some(key) => {
                let problem = Problem::UnknownKey {
                    key: key.get_ref().to_string(),
                    nearest: nearest(key.get_ref(), asked.iter().copied()),
                };
                Err(Flaw::new(problem).at(key.span()))
            }
        }
    }

    /// Every key with a text as its value, with the key's place; none of them counts as asked for.
    pub fn texts(&self) -> impl Iterator<Item = (&str, &str, Range<usize>)> {
        self.table.iter().filter_map(|(key, item)| match item.get_ref() {
            DeValue::String(text) => Some((key.get_ref().as_ref(), text.as_ref(), key.span())),
            _ => None,
        })
    }

    pub fn text(&self, key: &'static str) -> Result<Option<&'a str>, Flaw> {
        self.item(key).map(|item| text_of(key, item)).transpose()
    }

    /// A color. Files of 0.1.0 spell the key `colour`.
    pub fn color(&self, key: &'static str) -> Result<Option<String>, Flaw> {
        let given = match self.text(key)? {
            None => self.text("colour")?,
            given => given,
        };
        Ok(given.map(str::to_owned))
    }

    pub fn name(&self, key: &'static str) -> Result<&'a str, Flaw> {
        self.text(key)?.ok_or_else(|| self.missing(key))
    }

    pub fn missing(&self, key: &'static str) -> Flaw {
        let asked = self.asked.borrow();
        // A third of a short key is another word: `part` is no slip for `start`.
        let slips = (key.len() / 3).clamp(1, 2);
        let stranger = |name: &str| !asked.contains(&name) && strsim::damerau_levenshtein(name, key) <= slips;
        if let Some(misspelt) = self.table.keys().find(|name| stranger(name.get_ref())) {
            let problem = Problem::UnknownKey { key: misspelt.get_ref().to_string(), nearest: Some(key.to_owned()) };
            return Flaw::new(problem).at(misspelt.span());
        }
        Flaw::new(Problem::Missing { key }).at(self.span())
    }

    pub fn not_a(&self, key: &str, expected: &'static str) -> Flaw {
        Flaw::new(Problem::NotA { key: key.to_owned(), expected }).at(self.span())
    }

    pub fn number(&self, key: &'static str) -> Result<Option<f64>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(None) };
        let number = match item.get_ref() {
            DeValue::Integer(number) => number.as_str().parse().ok(),
            DeValue::Float(number) => number.as_str().parse().ok(),
            _ => None,
        };
        number.filter(|number: &f64| number.is_finite()).map(Some).ok_or_else(|| {
            let expected = match item.get_ref() {
                DeValue::String(_) => "a number: write it without quotation marks",
                _ => "a finite number",
            };
            Flaw::new(Problem::NotA { key: key.to_owned(), expected }).at(item.span())
        })
    }

    /// A quantity of one dimension between two limits, in SI units.
    pub fn quantity(&self, key: &'static str, kind: Kind) -> Result<Option<f64>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(None) };
        let text = text_of(key, item)?;
        kind.read(key, text).map(Some).map_err(|problem| Flaw::new(problem).at(item.span()))
    }

    pub fn needed(&self, key: &'static str, kind: Kind) -> Result<f64, Flaw> {
        self.quantity(key, kind)?.ok_or_else(|| self.missing(key))
    }

    /// A value with its healthy limits: `4.7 kohm ± 5 %`, `5 V ± 0.1 V`, `2 mohm to 15 mohm`, or a bare one, of which
    /// the tolerance is `usual` (a fraction).
    pub fn spread(&self, key: &'static str, kind: Kind, usual: f64) -> Result<Option<Spread>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(None) };
        let text = text_of(key, item)?;
        let spread = || -> Result<Spread, Problem> {
            let (nominal, low, high) = if let Some((low, high)) = text.split_once(" to ") {
                let (low, high) = (kind.read(key, low)?, kind.read(key, high)?);
                if low > high {
                    return Err(Problem::NotRising { key });
                }
                ((low + high) / 2.0, low, high)
            } else if let Some((nominal, tolerance)) = text.split_once('±').or_else(|| text.split_once("+-")) {
                let nominal = kind.read(key, nominal)?;
                self.look_at_tolerance(key, kind, tolerance, &item.span());
                let tolerance: Quantity = tolerance.parse().map_err(|_| kind.problem(key))?;
                let margin = match tolerance.dimension() {
                    // Of a percentage the tolerance is meant in points of the scale.
                    Dimension::NONE if kind.dimension != Dimension::NONE => nominal.abs() * tolerance.si(),
                    dimension if dimension == kind.dimension.difference() => tolerance.si(),
                    _ => return Err(kind.problem(key)),
                };
                if !(0.0..=1e12).contains(&margin) {
                    return Err(kind.problem(key));
                }
                (nominal, (nominal - margin).max(kind.lowest), (nominal + margin).min(kind.highest))
            } else {
                let nominal = kind.read(key, text)?;
                (nominal, nominal - nominal.abs() * usual, nominal + nominal.abs() * usual)
            };
            Ok(self.spread_of(nominal, low, high))
        };
        spread().map(Some).map_err(|problem| Flaw::new(problem).at(item.span()))
    }

    /// A tolerance that can be read and is surely not meant so.
    fn look_at_tolerance(&self, key: &'static str, kind: Kind, tolerance: &str, span: &Range<usize>) {
        if kind.dimension == Dimension::NONE {
            return;
        }
        let written = tolerance.trim();
        let problem = match written.parse::<Quantity>() {
            Ok(_) if written.parse::<f64>().is_ok() => {
                let unit = Unit::of(kind.dimension.difference()).map(Unit::word).unwrap_or_default();
                Problem::ToleranceWithoutUnit { key, tolerance: written.to_owned(), unit }
            }
            Ok(share) if share.dimension() == Dimension::NONE && share.si() >= 1.0 => {
                Problem::ToleranceTooWide { key, tolerance: written.to_owned() }
            }
            _ => return,
        };
        self.shared.semantic_errors.borrow_mut().push(Flaw::new(problem).at(span.clone()));
    }

    /// A spread of its own draw.
    pub fn spread_of(&self, nominal: f64, low: f64, high: f64) -> Spread {
        let mut spreads = self.shared.spreads.borrow_mut();
        let spread = Spread { nominal, low, high, index: spreads.len() as u32 };
        spreads.push(spread);
        spread
    }

    /// The draw of a spread that may be left out: `usual` with a tolerance of `fraction`.
    pub fn spread_or(&self, key: &'static str, kind: Kind, usual: f64, fraction: f64) -> Result<Spread, Flaw> {
        Ok(match self.spread(key, kind, fraction)? {
            Some(spread) => spread,
            None => self.spread_of(usual, usual * (1.0 - fraction), usual * (1.0 + fraction)),
        })
    }

    pub fn spread_needed(&self, key: &'static str, kind: Kind, usual: f64) -> Result<Spread, Flaw> {
        self.spread(key, kind, usual)?.ok_or_else(|| self.missing(key))
    }

    /// One value, or two with `to` between them, the lower one first: `5 ohm to 2 kohm`.
    pub fn range(&self, key: &'static str, kind: Kind) -> Result<Option<(f64, f64)>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(None) };
        let text = text_of(key, item)?;
        let read = || match text.split_once(" to ") {
            None => kind.read(key, text).map(|value| (value, value)),
            Some((low, high)) => {
                let (low, high) = (kind.read(key, low)?, kind.read(key, high)?);
                if low >= high { Err(Problem::NotRising { key }) } else { Ok((low, high)) }
            }
        };
        read().map(Some).map_err(|problem| Flaw::new(problem).at(item.span()))
    }

    /// A bare number, or two of them in a text with `to` between them: `0.5 to 0.8`.
    pub fn number_range(&self, key: &'static str) -> Result<Option<(f64, f64)>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(None) };
        let DeValue::String(text) = item.get_ref() else { return Ok(self.number(key)?.map(|one| (one, one))) };
        let numbers = text.split_once(" to ").and_then(|(low, high)| {
            Some((low.trim().parse().ok()?, high.trim().parse().ok()?)).filter(|(low, high)| low < high)
        });
        let expected = "a number, or a rising range such as `\"0.5 to 0.8\"`";
        numbers.map(Some).ok_or_else(|| Flaw::new(Problem::NotA { key: key.to_owned(), expected }).at(item.span()))
    }

    /// `true` or `false`; `false` where it is left out.
    pub fn flag(&self, key: &'static str) -> Result<bool, Flaw> {
        match self.item(key).map(|item| (item.get_ref(), item.span())) {
            None => Ok(false),
            Some((DeValue::Boolean(flag), _)) => Ok(*flag),
            Some((_, span)) => {
                Err(Flaw::new(Problem::NotA { key: key.to_owned(), expected: "`true` or `false`" }).at(span))
            }
        }
    }

    /// Every key with its place and its value; none of them counts as asked for.
    pub fn entries(&self) -> impl Iterator<Item = Named<'a>> {
        self.table.iter().map(|(name, value)| (name.get_ref().as_ref(), name.span(), value))
    }

    pub fn gauge(&self, key: &'static str) -> Result<Option<Gauge>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(None) };
        Gauge::parse(text_of(key, item)?).map(Some).map_err(|problem| Flaw::new(problem).at(item.span()))
    }

    /// Words: an array of strings, or a single string.
    pub fn words(&self, key: &'static str) -> Result<Vec<(&'a str, Range<usize>)>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(Vec::new()) };
        words_of(key, item)
    }

    /// Tables under a key: one table or an array of them.
    pub fn sections(&self, key: &'static str) -> Result<Vec<Section<'a>>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(Vec::new()) };
        let one = |item: Item<'a>| match item.get_ref() {
            DeValue::Table(table) => Ok(Section::new(table, item.span(), self.shared)),
            _ => Err(Flaw::new(Problem::NotA { key: key.to_owned(), expected: "a table" }).at(item.span())),
        };
        match item.get_ref() {
            DeValue::Array(items) => items.iter().map(one).collect(),
            _ => Ok(vec![one(item)?]),
        }
    }

    /// The entries of a table whose keys are names of the author's.
    pub fn named_entries(&self, key: &'static str) -> Result<Vec<Named<'a>>, Flaw> {
        let Some(item) = self.item(key) else { return Ok(Vec::new()) };
        let DeValue::Table(table) = item.get_ref() else {
            return Err(Flaw::new(Problem::NotA { key: key.to_owned(), expected: "a table" }).at(item.span()));
        };
        Ok(table.iter().map(|(name, value)| (name.get_ref().as_ref(), name.span(), value)).collect())
    }
}

/// The text of a value.
pub fn text_of<'a>(key: &str, item: Item<'a>) -> Result<&'a str, Flaw> {
    match item.get_ref() {
        DeValue::String(text) => Ok(text.as_ref()),
        _ => Err(Flaw::new(Problem::NotA { key: key.to_owned(), expected: "a text in quotes" }).at(item.span())),
    }
}

/// The texts of an array of strings, or of a single string.
pub fn words_of<'a>(key: &str, item: Item<'a>) -> Result<Vec<(&'a str, Range<usize>)>, Flaw> {
    match item.get_ref() {
        DeValue::Array(items) => items.iter().map(|item| Ok((text_of(key, item)?, item.span()))).collect(),
        _ => Ok(vec![(text_of(key, item)?, item.span())]),
    }
}

/// Pairs of quantities, the first of each pair in rising order.
pub fn pairs(section: &Section, key: &'static str, first: Kind, second: Kind) -> Result<Vec<(f64, f64)>, Flaw> {
    use toml::de::DeValue;
    let expected = "an array of pairs such as `[[\"0 %\", \"10 ohm\"], [\"100 %\", \"180 ohm\"]]`";
    let wrong = || section.not_a(key, expected);
    let Some(DeValue::Array(items)) = section.item(key).map(|item| item.get_ref()) else { return Err(wrong()) };
    let mut points: Vec<(f64, f64)> = Vec::new();
    for item in items.iter() {
        let DeValue::Array(pair) = item.get_ref() else { return Err(wrong()) };
        let mut values = [0.0; 2];
        if pair.len() != 2 {
            return Err(wrong());
        }
        for ((value, item), kind) in values.iter_mut().zip(pair.iter()).zip([first, second]) {
            *value = kind.read(key, text_of(key, item)?).map_err(|problem| Flaw::new(problem).at(item.span()))?;
        }
        if points.last().is_some_and(|last| last.0 >= values[0]) {
            return Err(Flaw::new(Problem::NotRising { key }).at(item.span()));
        }
        points.push((values[0], values[1]));
    }
    if points.len() < 2 || points.len() > 200 {
        return Err(wrong());
    }
    Ok(points)
}

/// Whether a name can be typed: letters, digits and `_ . - /`, and not too long.
pub fn check_name(name: &str) -> Result<(), Problem> {
    let typed = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | '-' | '/' | '+');
    if name.is_empty() || name.chars().count() > LONGEST_NAME || !name.chars().all(typed) {
        let expected = "a name of letters, digits and `_`, `.`, `-`, `/`, `+`, at most 80 of them";
        return Err(Problem::NotA { key: name.chars().take(LONGEST_NAME).collect(), expected });
    }
    Ok(())
}

/// A dimension with the limits inside which a vehicle's circuit lies, in SI units.
#[derive(Clone, Copy)]
pub struct Kind {
    pub dimension: Dimension,
    pub lowest: f64,
    pub highest: f64,
    pub expected: &'static str,
}

impl Kind {
    const fn new(dimension: Dimension, lowest: f64, highest: f64, expected: &'static str) -> Self {
        Self { dimension, lowest, highest, expected }
    }
    /// From a microhm, so that the equations keep their digits, to a teraohm.
    pub const RESISTANCE: Self = Self::new(Dimension::RESISTANCE, 1e-6, 1e12, "a resistance such as `4.7 kohm`");
    pub const VOLTAGE: Self = Self::new(Dimension::VOLTAGE, -1500.0, 1500.0, "a voltage such as `12.6 V`");
    pub const POSITIVE_VOLTAGE: Self = Self::new(Dimension::VOLTAGE, 1e-6, 1500.0, "a voltage such as `12.6 V`");
    pub const CURRENT: Self = Self::new(Dimension::CURRENT, 1e-6, 1e5, "a current such as `10 A`");
    pub const LENGTH: Self = Self::new(Dimension::LENGTH, 1e-3, 100.0, "a length such as `2.5 m`");
    pub const TIME: Self = Self::new(Dimension::TIME, 1e-3, 1e6, "a time such as `5 s` or `20 min`");
    pub const CAPACITY: Self = Self::new(Dimension::CHARGE, 360.0, 3.6e6, "a capacity such as `70 Ah`");
    pub const INDUCTANCE: Self = Self::new(Dimension::INDUCTANCE, 1e-9, 1e3, "an inductance such as `0.5 H`");
    /// Between a sensor and its wheel.
    pub const GAP: Self = Self::new(Dimension::LENGTH, 1e-5, 0.1, "an air gap such as `0.8 mm`");
    pub const TEMPERATURE: Self = Self::new(Dimension::TEMPERATURE, -60.0, 250.0, "a temperature such as `25 degC`");
    pub const SHARE: Self = Self::new(Dimension::NONE, 0.0, 1.0, "a share such as `40 pct`");
    pub const FREQUENCY: Self = Self::new(Dimension::FREQUENCY, 0.01, 1e7, "a frequency such as `250 Hz`");

    pub const fn of(dimension: Dimension) -> Self {
        Self::new(dimension, -1e12, 1e12, "a quantity with its unit, of the dimension that is needed here")
    }

    fn problem(self, key: &str) -> Problem {
        Problem::NotA { key: key.to_owned(), expected: self.expected }
    }

    pub fn read(self, key: &str, text: &str) -> Result<f64, Problem> {
        let quantity: Quantity = text.trim().parse().map_err(|_| self.problem(key))?;
        if quantity.dimension() != self.dimension {
            return Err(self.problem(key));
        }
        if !(self.lowest..=self.highest).contains(&quantity.si()) {
            return Err(Problem::OutOfRange {
                key: key.to_owned(),
                value: quantity.to_string(),
                lowest: quantity.with_si(self.lowest).to_string(),
                highest: quantity.with_si(self.highest).to_string(),
            });
        }
        Ok(quantity.si())
    }
}
