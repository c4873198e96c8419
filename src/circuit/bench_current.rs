//! What a meter reads of a current on the bench: in line, across two points, or as a clamp round the wire.

use super::bench::{Bench, SHORT, remember};
use super::error::SolveError;
use super::meter::{self, Reading, Shown};
use super::nodes::Node;
use super::solving::element::Element;
use super::solving::network::Owner;
use super::solving::prepared::in_words;
use super::solving::span::Span;
use crate::model::meter::Function;
use std::collections::BTreeSet;

/// The most that a meter in line carries, in amperes: the fuse of its socket is for this much (common practice, no source).
pub const IN_LINE_MOST: f64 = 10.0;

impl Bench {
    /// Amperes with the meter in line: in place of a fuse, a switch, a wire's joint or between the halves of a connector's pin
    /// (named by the harness-side point). Above the in-line ranges a clamp is put round the wire, which loads nothing.
    pub fn amperes_through(&mut self, name: &str) -> Result<Reading, SolveError> {
        let id = match self.circuit.part_number(name) {
            Ok(number) => number,
            Err(error) => {
                let point = self.circuit.point(name).map_err(|_| error)?;
                self.circuit.part_number(&point.id)?
            }
        };
        let Some((from, to)) = self.circuit.parts[id].kind.in_line() else {
            return Err(SolveError::NotInLine { name: name.to_owned() });
        };
        self.in_line(|bench, burden| bench.current(id, from, to, burden))
    }

    /// As [`Self::amperes_through`], with no clamp at hand: `OL` above what the meter's socket carries.
    pub fn amperes_in_line(&mut self, name: &str) -> Result<Reading, SolveError> {
        self.amperes_through(name).map(no_more_than_the_socket_carries)
    }

    /// Amperes with the meter as the wire between two points, as in the place of a fuse that was taken out.
    pub fn amperes(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        let (from, to) = self.leads(red, black)?;
        let reading = self.in_line(|bench, burden| {
            let ohms = burden.max(1e-3);
            let element = bench.between(from, to, 0.0, ohms);
            let volts = bench.across(from, to, (from != to).then_some(element))?;
            Ok(volts.rising(|volts| volts / ohms))
        })?;
        if self.faults.is_empty() && reading.exact.abs() > SHORT {
            let (from, to, amperes) = (red.to_owned(), black.to_owned(), reading.exact.abs());
            return Err(SolveError::Shorted { what: "the ammeter", from, to, amperes, fuse: None });
        }
        Ok(no_more_than_the_socket_carries(reading))
    }

    /// The highest range first, as it should be done, then the one that fits.
    fn in_line(&mut self, measure: impl Fn(&mut Self, f64) -> Result<Span, SolveError>) -> Result<Reading, SolveError> {
        let ranges: Vec<_> = meter::ranges(&self.meter, Function::Amperes)
            .into_iter()
            .map(|(number, range)| (number, range.clone()))
            .collect();
        let Some((_, highest)) = ranges.last() else { return Err(self.no_range(Function::Amperes)) };
        let first = measure(self, meter::burden(highest.full_scale.si()))?;
        for (number, range) in ranges {
            if first.largest() > range.full_scale.si() {
                continue;
            }
            let exact = measure(self, meter::burden(range.full_scale.si()))?;
            let shown = meter::shown_of(&range, number, exact, self.sample);
            if shown != Shown::OverRange {
                return Ok(Reading { shown, exact: exact.mean, range: Some(range), live: false });
            }
        }
        Ok(Reading { shown: Shown::OverRange, exact: first.mean, range: None, live: false })
    }

    /// Current through a resistance with the meter in series, or through the meter alone where the part is out.
    fn current(&mut self, part: usize, from: Node, to: Node, burden: f64) -> Result<Span, SolveError> {
        let (a, b) = (self.unknown(from), self.unknown(to));
        let (id, kind) = (&self.circuit.parts[part].id, &self.circuit.parts[part].kind);
        let connector = kind.connector().map(|connector| &self.circuit.connectors[connector].id);
        let out = self.state.removed.contains(id)
            || connector.is_some_and(|connector| self.state.unplugged.contains(connector));
        let mut total = Span::steady(0.0);
        let (mut memory, mut blown) = (self.memory.clone(), BTreeSet::new());
        for (phase, (share, network)) in self.prepared.phases.iter().enumerate() {
            let mut network = network.clone();
            let mut place = network.owners.iter().position(|owner| *owner == Owner::Part(part));
            if place.is_none() && out {
                network.push(Owner::Part(part), Element::Conductance { a, b, siemens: 1.0 / burden.max(1e-3) });
                place = Some(network.elements.len() - 1);
            } else if let Some(place) = place
                && let Element::Conductance { siemens, .. } | Element::Fuse { siemens, .. } =
                    &mut network.elements[place]
            {
                *siemens = 1.0 / (1.0 / *siemens + burden);
            }
            let Some(place) = place else { continue };
            let solved = network.solve(&[], self.memory.contacts(phase), &mut self.work);
            solved.map_err(|error| in_words(&self.circuit, error, &network.owners).in_state(&self.state))?;
            remember(&network, &self.work, phase, &mut memory, &mut blown);
            let (element, segments) = (&network.elements[place], &network.segments);
            total.add(*share, self.work.span(|states, volts| element.amperes(states[place], segments, volts)));
        }
        if self.leave(memory, blown)? {
            self.settle()?;
        }
        Ok(total)
    }
}

fn no_more_than_the_socket_carries(reading: Reading) -> Reading {
    if reading.exact.abs() <= IN_LINE_MOST {
        return reading;
    }
    Reading { shown: Shown::OverRange, range: None, ..reading }
}
