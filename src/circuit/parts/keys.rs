//! The keys of one `[[part]]`, and what several kinds of part read in the same way.

use super::part::PartKind;
use crate::circuit::decode::{Kind, Section, text_of};
use crate::circuit::error::{Flaw, Problem};
use crate::circuit::movement::{Condition, Movement, ends};
use crate::circuit::nodes::{Node, Nodes};
use crate::circuit::sample::Spread;
use crate::model::words::nearest;
use std::sync::Arc;

/// How a kind of part is written in a circuit file.
pub struct Reader {
    /// Its words for `kind`.
    pub words: &'static [&'static str],
    /// Keys with a point as their value.
    pub ends: &'static [&'static str],
    /// Reads its other keys.
    pub read: fn(&mut PartKeys) -> PartRead,
}

/// A part as it was read.
pub type PartRead = Result<Arc<dyn PartKind>, Flaw>;

/// One `[[part]]` while it is read.
pub struct PartKeys<'a> {
    pub id: &'a str,
    /// Which of its kind's words it has.
    pub word: &'static str,
    pub section: &'a Section<'a>,
    pub nodes: &'a mut dyn Nodes,
    pub movements: &'a [Movement],
    /// Every kind of part.
    pub kinds: &'static [Reader],
}

impl PartKeys<'_> {
    /// The missing key, and the one that may have been written in its place.
    pub fn one_end(&self, end: &'static str) -> Flaw {
        let is_end = |key: &str| self.kinds.iter().any(|kind| kind.ends.contains(&key));
        let others: Vec<String> = self
            .section
            .texts()
            .filter(|(key, text, _)| !matches!(*key, "id" | "kind") && !is_end(key) && self.nodes.find(text).is_ok())
            .map(|(key, ..)| key.to_owned())
            .collect();
        let first = self.section.texts().find(|(key, ..)| others.first().is_some_and(|other| other == key));
        let span = first.map(|(_, _, span)| span);
        let flaw = Flaw::new(Problem::OneEnd { end, others });
        span.into_iter().fold(flaw, Flaw::at)
    }

    /// The node of an end that may be left out.
    pub fn end_if(&self, key: &'static str) -> Result<Option<Node>, Flaw> {
        let Some(item) = self.section.item(key) else { return Ok(None) };
        self.nodes.find(text_of(key, item)?).map(Some).map_err(|problem| Flaw::new(problem).at(item.span()))
    }

    /// The node of an end.
    pub fn end(&self, key: &'static str) -> Result<Node, Flaw> {
        self.end_if(key)?.ok_or_else(|| self.one_end(key))
    }

    /// A node inside the part that no lead can reach.
    pub fn inside(&mut self, name: &str) -> Node {
        self.nodes.inside(format!("{}.{name}", self.id))
    }

    /// A condition; `None` if the key is absent.
    pub fn condition(&self, key: &'static str) -> Result<Option<Condition>, Flaw> {
        Condition::decode(self.section, key, self.movements)
    }

    /// The number of a movement.
    pub fn movement(&self, key: &'static str) -> Result<usize, Flaw> {
        let name = self.section.name(key)?;
        self.movements.iter().position(|movement| movement.id == name).ok_or_else(|| {
            let known = self.movements.iter().map(|movement| movement.id.as_str());
            Problem::UnknownName { what: "movement", name: name.to_owned(), nearest: nearest(name, known) }.into()
        })
    }

    /// The number of a movement with two ends.
    pub fn travelled(&self, key: &'static str) -> Result<usize, Flaw> {
        let index = self.movement(key)?;
        match ends(&self.movements[index]) {
            Some(_) => Ok(index),
            None => Err(self.section.not_a(key, "a movement with two ends, `from` and `to`")),
        }
    }

    /// Shares of the supply at the two ends of the travel; what is left out is `low` or `high`, with a hundredth each way.
    pub fn shares(&self, low: f64, high: f64) -> Result<(Spread, Spread), Flaw> {
        let (at_start, at_end) =
            (self.section.spread("at_start", Kind::SHARE, 0.0)?, self.section.spread("at_end", Kind::SHARE, 0.0)?);
        let usual = |share: f64| self.section.spread_of(share, share - 0.01, share + 0.01);
        Ok((at_start.unwrap_or_else(|| usual(low)), at_end.unwrap_or_else(|| usual(high))))
    }

    /// A factor about 1 of everything that a curve or a ladder lists; `usual` is its tolerance as a fraction.
    pub fn tolerance(&self, usual: f64) -> Result<Spread, Flaw> {
        let fraction = self.section.quantity("tolerance", Kind::SHARE)?.unwrap_or(usual);
        Ok(self.section.spread_of(1.0, 1.0 - fraction, 1.0 + fraction))
    }
}
