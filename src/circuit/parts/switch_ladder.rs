//! A switch with a resistance of its own for each of its positions.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::{Kind, text_of};
use crate::circuit::effect::Altered;
use crate::circuit::error::{Flaw, Problem};
use crate::circuit::movement::{Place, Travel};
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use crate::model::words::nearest;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["switch_ladder"], ends: ENDS, read };

#[derive(Debug)]
struct SwitchLadder {
    from: Node,
    to: Node,
    /// Ohms by the number of the choice.
    steps: Vec<f64>,
    /// Multiplies all of them.
    factor: Spread,
    /// The movement that moves it, by number.
    movement: usize,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let movement = keys.movement("moves")?;
    let Travel::Choices(choices) = &keys.movements[movement].travel else {
        return Err(section.not_a("moves", "a movement with choices"));
    };
    let mut steps = vec![None; choices.len()];
    for (name, span, item) in section.named_entries("steps")? {
        let Ok(Place::Choice(number)) = keys.movements[movement].place(name) else {
            let nearest = nearest(name, choices.iter().map(String::as_str));
            return Err(Flaw::new(Problem::UnknownName { what: "choice", name: name.to_owned(), nearest }).at(span));
        };
        let ohms = Kind::RESISTANCE.read(name, text_of(name, item)?);
        steps[number] = Some(ohms.map_err(|problem| Flaw::new(problem).at(item.span()))?);
    }
    let steps = steps.into_iter().collect::<Option<Vec<_>>>().ok_or_else(|| section.missing("steps"))?;
    let (from, to) = (keys.end("from")?, keys.end("to")?);
    Ok(Arc::new(SwitchLadder { from, to, steps, factor: keys.tolerance(0.02)?, movement }))
}

impl PartKind for SwitchLadder {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let choice = network.travel(self.movement, altered) as usize;
        let ohms = self.steps[choice] * network.value(self.factor, altered);
        network.resistance(self.from, self.to, ohms);
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            drifts: vec![self.factor],
            takes_offset: false,
            movement: Some(self.movement),
            ..PartFaults::of_kind(Kind::RESISTANCE)
        }
    }
}
