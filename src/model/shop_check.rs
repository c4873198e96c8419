//! The parts of `shop.toml` that can be read and can't be right: with the place, and what to do.

use super::dimension::Dimension;
use super::meter::{Function, Meter, Range};
use super::shop::{Person, Role, Shop};
use super::words;
use jiff::civil::Date;
use std::collections::BTreeSet;

/// One step on the way to a place in the file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Way {
    /// Under this name.
    Name(&'static str),
    /// The one of this number, from 0.
    Number(usize),
}

/// Something that can't be right.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ShopProblem {
    /// Where it stands.
    pub way: Vec<Way>,
    /// The problem, in a sentence without its full stop.
    pub title: String,
    /// The advice.
    pub hint: String,
}

impl ShopProblem {
    fn new(field: &'static str, title: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { way: vec![Way::Name(field)], title: title.into(), hint: hint.into() }
    }

    fn under(mut self, list: &'static str, number: usize) -> Self {
        self.way.splice(..0, [Way::Name(list), Way::Number(number)]);
        self
    }
}

impl Shop {
    /// The first thing in it that can't be right: a date that is none, a meter's figure that no meter has, a name there
    /// twice, a role that nobody declared.
    ///
    /// ```
    /// use ohmwright::model::shop::Shop;
    /// let shop: Shop = toml::from_str("[[person]]\nname = \"Ana Example\"\nfrom = \"2026-05-01\"\nuntil = \"2026-04-01\"").unwrap();
    /// assert_eq!(shop.problem().unwrap().title, "Ana Example counts until 2026-04-01, which is before 2026-05-01, the first day");
    /// ```
    pub fn problem(&self) -> Option<ShopProblem> {
        let mut roles = BTreeSet::new();
        for (number, role) in self.roles.iter().enumerate() {
            if !roles.insert(role.name.as_str()) {
                let title = format!("the role `{}` is there twice", role.name);
                return Some(ShopProblem::new("name", title, "keep one of them").under("role", number));
            }
            if let Some(found) = role_problem(role) {
                return Some(found.under("role", number));
            }
        }
        let person = |(number, person)| person_problem(person, &roles).map(|found| found.under("person", number));
        if let Some(found) = self.people.iter().enumerate().find_map(person) {
            return Some(found);
        }
        if let Some(found) = self.caution_not_whole() {
            return Some(found);
        }
        let mut meters = BTreeSet::new();
        self.meters.iter().enumerate().find_map(|(number, meter)| {
            let found = if meters.insert(meter.id.as_str()) {
                meter_problem(meter)?
            } else {
                let title = format!("the meter `{}` is there twice", meter.id);
                ShopProblem::new("id", title, "give each meter an id of its own: by it a run says which was used")
            };
            Some(found.under("meter", number))
        })
    }

    /// A caution that says nothing is confirmed for nothing.
    fn caution_not_whole(&self) -> Option<ShopProblem> {
        self.cautions.iter().enumerate().find_map(|(number, rule)| {
            let (field, hint) = rule.lacks()?;
            let title = if rule.is_older() && rule.text.trim().is_empty() {
                format!("the caution `{}` has an empty text", rule.id)
            } else {
                format!("the caution `{}` is not whole: see `{field}`", rule.id)
            };
            Some(ShopProblem::new(field, title, hint).under("caution", number))
        })
    }

    /// An older way of writing that still counts, with the better one.
    pub fn remarks(&self) -> Vec<String> {
        let older: Vec<String> =
            self.cautions.iter().filter(|rule| rule.is_older()).map(|rule| format!("`{}`", rule.id)).collect();
        if older.is_empty() {
            return vec![];
        }
        let (noun, verb) = if older.len() == 1 { ("caution", "has") } else { ("cautions", "have") };
        vec![format!(
            "shop.toml: the {noun} {} {verb} a `word` and a `text`, the older way. They count. Write hazard, harm, likelihood, \
             consequence, avoid and confirm_text instead: Ohmwright works out the word",
            words::all(&older)
        )]
    }
}

/// A shop may have meanings of its own; one that is a letter off from a usual one is a slip, and would sign nothing.
fn role_problem(role: &Role) -> Option<ShopProblem> {
    role.may_sign.iter().enumerate().find_map(|(number, meaning)| {
        let (title, hint) = if meaning.trim().is_empty() {
            (format!("the role `{}` may sign with an empty meaning", role.name), "take it out".to_owned())
        } else {
            let usual = ["performed", "reviewed"];
            let slip = |usual: &&str| strsim::damerau_levenshtein(meaning, usual) == 1;
            let meant = usual.into_iter().find(slip)?;
            let title = format!("`{meaning}` is one letter off from `{meant}`, and nothing is ever signed with it");
            (title, format!("did you mean `{meant}`?"))
        };
        let mut found = ShopProblem::new("may_sign", title, hint);
        found.way.push(Way::Number(number));
        Some(found)
    })
}

fn date(field: &'static str, text: &str) -> Result<Date, ShopProblem> {
    text.parse().map_err(|_| ShopProblem::new(field, format!("`{text}` is not a date"), "write it as 2027-03-31"))
}

fn person_problem(person: &Person, roles: &BTreeSet<&str>) -> Option<ShopProblem> {
    let name = &person.name;
    if !person.role.is_empty() && !roles.contains(person.role.as_str()) {
        let nearest = words::nearest(&person.role, roles.iter().copied());
        let title = format!(
            "{name} has the role `{}`, which no [[role]] defines{}",
            person.role,
            words::did_you_mean(nearest.as_deref())
        );
        let hint = "add a [[role]] with that name and with what it may sign: may_sign = [\"performed\"]";
        return Some(ShopProblem::new("role", title, hint));
    }
    let from = person.from.as_deref().map(|from| date("from", from)).transpose();
    let until = person.until.as_deref().map(|until| date("until", until)).transpose();
    match (from, until) {
        (Err(found), _) | (_, Err(found)) => Some(found),
        (Ok(Some(from)), Ok(Some(until))) if until < from => Some(ShopProblem::new(
            "until",
            format!("{name} counts until {until}, which is before {from}, the first day"),
            "write the first day after `from` and the last one after `until`",
        )),
        _ => None,
    }
}

fn meter_problem(meter: &Meter) -> Option<ShopProblem> {
    if meter.id.trim().is_empty() {
        let hint = "give it a short name, as typed with --meter";
        return Some(ShopProblem::new("id", format!("the meter {} has an empty id", meter.name), hint));
    }
    if let Some(Err(found)) = meter.calibration_due.as_deref().map(|due| date("calibration_due", due)) {
        return Some(found);
    }
    let input = meter.input_resistance;
    if input.dimension() != Dimension::RESISTANCE || input.si() <= 0.0 {
        let title = format!("`{input}` is not an input resistance");
        return Some(ShopProblem::new("input_resistance", title, "write ohms above zero, as \"10 Mohm\""));
    }
    let mut scales = Vec::new();
    meter.ranges.iter().enumerate().find_map(|(number, range)| {
        let is_there = scales.contains(&(range.function, range.full_scale));
        scales.push((range.function, range.full_scale));
        let found = if is_there {
            let title = format!("a range of this kind that ends at {} is there twice", range.full_scale);
            ShopProblem::new("full_scale", title, "keep the one from the meter's booklet")
        } else {
            range_problem(range)?
        };
        Some(found.under("range", number))
    })
}

/// The problem with the frequencies for which a range is made.
fn hertz_problem(range: &Range) -> Option<ShopProblem> {
    for (key, hertz) in [("lowest_hertz", range.lowest_hertz), ("highest_hertz", range.highest_hertz)] {
        let Some(hertz) = hertz else { continue };
        if range.function != Function::AcVolts {
            let title = "only a range of AC volts has a lowest and a highest frequency";
            return Some(ShopProblem::new(key, title, "take it out"));
        }
        if hertz.dimension() != Dimension::FREQUENCY || !(hertz.si() > 0.0 && hertz.si().is_finite()) {
            let title = format!("`{key}` is a frequency above zero, not {hertz}");
            return Some(ShopProblem::new(key, title, "write it as \"40 Hz\" or \"1 kHz\""));
        }
    }
    let (lowest, highest) = (range.lowest_hertz?, range.highest_hertz?);
    (lowest.si() >= highest.si()).then(|| {
        let title = format!("a range can't go from {lowest} to {highest}");
        ShopProblem::new("highest_hertz", title, "write the lower frequency as `lowest_hertz`")
    })
}

fn range_problem(range: &Range) -> Option<ShopProblem> {
    let (wanted, example) = match range.function {
        Function::Volts | Function::AcVolts | Function::Diode => (Dimension::VOLTAGE, "6 V"),
        Function::Amperes => (Dimension::CURRENT, "10 A"),
        Function::Ohms => (Dimension::RESISTANCE, "600 ohm"),
        Function::Hertz => (Dimension::FREQUENCY, "60 kHz"),
        Function::Duty => (Dimension::NONE, "100 %"),
        Function::Temperature => (Dimension::TEMPERATURE, "400 degC"),
        Function::Time => (Dimension::TIME, "100 ms"),
    };
    let (full_scale, resolution) = (range.full_scale, range.resolution);
    let fits = |dimension: Dimension| dimension.difference() == wanted.difference();
    let above_zero = |quantity: super::quantity::Quantity| quantity.si().is_finite() && quantity.si() > 0.0;
    if !fits(full_scale.dimension()) || !above_zero(full_scale) {
        let title = format!("a range of this kind has {wanted} above zero as its full scale, not {full_scale}");
        return Some(ShopProblem::new(
            "full_scale",
            title,
            format!("write the highest value that it shows, as \"{example}\""),
        ));
    }
    let hint = format!("write one count of the last digit on this range, whose full scale is {full_scale}");
    if !fits(resolution.dimension()) || !above_zero(resolution) {
        let title = format!("a range of this kind has {wanted} above zero as its resolution, not {resolution}");
        return Some(ShopProblem::new("resolution", title, hint));
    }
    if resolution.si() >= full_scale.si() {
        let title = format!("one count can't be {resolution} on a range that ends at {full_scale}");
        return Some(ShopProblem::new("resolution", title, hint));
    }
    if !(0.0..=100.0).contains(&range.percent) {
        let title = format!("an accuracy can't be {} percent of the reading", range.percent);
        let hint = "write what the meter's manufacturer promises, without a sign: 0.5 for \u{b1}0.5 %";
        return Some(ShopProblem::new("percent", title, hint));
    }
    if let Some(problem) = hertz_problem(range) {
        return Some(problem);
    }
    if !(range.counts >= 0.0 && range.counts.is_finite()) {
        let title = format!("an accuracy can't be {} counts", range.counts);
        let hint = "write what the meter's manufacturer promises, without a sign: 3 for \u{b1}3 counts";
        return Some(ShopProblem::new("counts", title, hint));
    }
    None
}
