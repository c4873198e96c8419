//! Every kind of part, and the reading of `[[part]]`.

use super::keys::{PartKeys, Reader};
use super::part::Part;
use super::{
    active_sensor, alternator, battery, coil, diode, fuse, inductive_sensor, intermittent_load, joint, lamp,
    module_input, module_output, motor, negative_clamp, potentiometer, regulator, relay, resistor, sleeping_load,
    solenoid, switch, switch_ladder, thermistor, transceiver, variable_resistor, wire,
};
use crate::circuit::decode::{Section, check_name};
use crate::circuit::error::{Flaw, Problem};
use crate::circuit::movement::Movement;
use crate::circuit::nodes::Nodes;
use crate::model::words::nearest;

/// Every kind of part, as written in a file.
const KINDS: &[Reader] = &[
    wire::READER,
    joint::READER,
    negative_clamp::READER,
    resistor::READER,
    coil::READER,
    intermittent_load::READER,
    sleeping_load::READER,
    switch::READER,
    fuse::READER,
    battery::READER,
    relay::READER,
    solenoid::READER,
    lamp::READER,
    diode::READER,
    motor::READER,
    regulator::READER,
    alternator::READER,
    module_input::READER,
    module_output::READER,
    potentiometer::READER,
    active_sensor::READER,
    thermistor::READER,
    inductive_sensor::READER,
    variable_resistor::READER,
    switch_ladder::READER,
    transceiver::READER,
];

/// Reads one part.
pub fn decode(section: &Section, nodes: &mut dyn Nodes, movements: &[Movement]) -> Result<Part, Flaw> {
    let id = section.name("id")?.to_owned();
    let place = || format!("part `{id}`");
    check_name(&id).map_err(|problem| Flaw::new(problem).at(section.span()))?;
    part(section, nodes, movements, &id).map_err(|flaw| flaw.at(section.span()).of(place))
}

fn part(section: &Section, nodes: &mut dyn Nodes, movements: &[Movement], id: &str) -> Result<Part, Flaw> {
    let asked = section.name("kind")?;
    let mut words = KINDS.iter().flat_map(|reader| reader.words.iter().map(move |word| (*word, reader)));
    let Some((word, reader)) = words.find(|(word, _)| *word == asked) else {
        let nearest = nearest(asked, KINDS.iter().flat_map(|reader| reader.words).copied());
        return Err(Problem::UnknownName { what: "kind of part", name: asked.to_owned(), nearest }.into());
    };
    let kind = (reader.read)(&mut PartKeys { id, word, section, nodes, movements, kinds: KINDS })?;
    let gauge = section.gauge("gauge")?;
    let color = section.color("color")?;
    _ = section.text("note")?;
    section.finish()?;
    Ok(Part { id: id.to_owned(), word, kind, color, gauge, span: section.span() })
}
