//! Reads a circuit file.

use super::cause;
use super::decode::{Kind, Section, Shared, check_name, words_of};
use super::error::{CircuitError, Flaw, Problem};
use super::fault::Fault;
use super::look::Look;
use super::movement::{self, Movement};
use super::netlist::Circuit;
use super::nodes::{Node, NodeTable};
use super::nominal;
use super::parts::connector_pin::{self, ConnectorPin};
use super::parts::kinds;
use super::parts::part::Part;
use super::point::{Connector, Point, Side};
use super::shows::Shows;
use super::signal::Signal;
use super::surroundings::Surroundings;
use crate::model::prompt::Zone;
use crate::model::words::nearest;
use std::ops::Range;
use std::sync::Arc;
use toml::de::{DeTable, DeValue};

/// Longest text that is read, in bytes.
const LONGEST_TEXT: usize = 512 * 1024;
const MOST_NODES: usize = 250;
const MOST_PARTS: usize = 1000;
const MOST_FAULTS: usize = 1000;
const MOST_OTHERS: usize = 100;

fn at_most(what: &'static str, count: usize, limit: usize) -> Result<(), Problem> {
    if count > limit { Err(Problem::TooMany { what, count, limit }) } else { Ok(()) }
}

/// Reads a circuit file. `file` names it in errors.
///
/// ```
/// use ohmwright::circuit::sample::Sample;
/// use ohmwright::circuit::{file, solution};
/// let text = r#"
///     title = "Divider"
///     zero_volts = "minus"
///     start = { key = "on" }
///     point = [{ id = "plus" }, { id = "middle" }, { id = "minus" }]
///     part = [
///         { id = "battery", kind = "battery", positive = "plus", negative = "minus", volts = "12 V", resistance = "1 mohm" },
///         { id = "upper", kind = "resistor", from = "plus", to = "middle", resistance = "1 kohm" },
///         { id = "lower", kind = "resistor", from = "middle", to = "minus", resistance = "2 kohm" },
///     ]
/// "#;
/// let circuit = file::parse(text, "divider.toml").unwrap();
/// let solution = solution::solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
/// assert!((solution.volts("middle", "minus").unwrap() - 8.0).abs() < 1e-4);
/// ```
pub fn parse(text: &str, file: &str) -> Result<Circuit, CircuitError> {
    let shared = Shared::default();
    let read = read(text, &shared);
    let (semantic_errors, tolerances) = (shared.semantic_errors.take(), shared.spreads.take());
    match read {
        Ok(circuit) => {
            let semantic_errors = semantic_errors.into_iter().map(|flaw| flaw.in_file(file)).collect();
            let nominal = circuit.nominal.or_else(|| nominal::at_rest(&circuit));
            Ok(Circuit { semantic_errors, tolerances, nominal, ..circuit })
        }
        // What was not meant so has more often led to what is wrong than not.
        Err(flaw) => Err(semantic_errors.into_iter().next().unwrap_or(flaw).in_file(file)),
    }
}

fn read(text: &str, shared: &Shared) -> Result<Circuit, Flaw> {
    at_most("bytes", text.len(), LONGEST_TEXT)?;
    let table = DeTable::parse(text).map_err(|error| {
        let flaw = Flaw::new(Problem::Toml { message: error.message().to_owned() });
        error.span().into_iter().fold(flaw, Flaw::at)
    })?;
    let root = Section::new(table.get_ref(), 0..0, shared);
    let mut reader =
        Reader { nodes: NodeTable::default(), points: Vec::new(), connectors: Vec::new(), parts: Vec::new() };

    let title = root.name("title")?.to_owned();
    let nominal = match root.text("nominal")? {
        Some(text) => Some(text.parse().map_err(|_| root.not_a("nominal", "the system's voltage, `12 V` or `24 V`"))?),
        None => None,
    };
    let insulation = root.quantity("healthy_insulation", Kind::RESISTANCE)?.unwrap_or(10e6);
    let share = root.quantity("dominant_share", Kind::SHARE)?.unwrap_or(0.0);
    let zero = root.name("zero_volts")?;
    reader.nodes.add(zero)?;
    let mut movements: Vec<Movement> = Vec::new();
    let sections = root.sections("movement")?;
    at_most("movements", sections.len(), MOST_OTHERS)?;
    for section in &sections {
        let movement =
            Movement::decode(section).map_err(|flaw| flaw.at(section.span()).of(|| "a movement".to_owned()))?;
        if movements.iter().any(|other| other.id == movement.id) || matches!(movement.id.as_str(), "key" | "engine") {
            return Err(Flaw::new(Problem::Twice { what: "movements", name: movement.id }).at(section.span()));
        }
        movements.push(movement);
    }
    let start = match &root.sections("start")?[..] {
        [section] => movement::start(section).map_err(|flaw| flaw.of(|| "`start`".to_owned()))?,
        _ => return Err(root.missing("start")),
    };
    for section in root.sections("connector")? {
        reader.connector(&section).map_err(|flaw| flaw.at(section.span()))?;
    }
    for section in root.sections("point")? {
        reader.point(&section, zero).map_err(|flaw| flaw.at(section.span()))?;
    }
    for (name, span) in root.words("inside")? {
        if name != zero {
            reader.nodes.add(name).map_err(|problem| Flaw::new(problem).at(span))?;
        }
    }
    for section in root.sections("part")? {
        let part = kinds::decode(&section, &mut reader.nodes, &movements)?;
        reader.add_part(part)?;
    }
    at_most("points", reader.nodes.names.len(), MOST_NODES)?;
    at_most("parts", reader.parts.len(), MOST_PARTS)?;
    reader.check_reach().map_err(|flaw| match &*flaw.problem {
        Problem::NothingReaches { point, .. } => {
            let written = format!("\"{point}\"");
            let at = text.find(&written).map(|start| start..start + written.len());
            at.into_iter().fold(flaw, Flaw::at)
        }
        _ => flaw,
    })?;

    let roles = reader.roles(&root)?;
    let mut signals: Vec<Signal> = Vec::new();
    for section in root.sections("signal")? {
        let signal = Signal::decode(&section, &reader.nodes)?;
        if signals.iter().any(|other| other.id == signal.id) {
            return Err(Flaw::new(Problem::Twice { what: "signals", name: signal.id }).at(section.span()));
        }
        signals.push(signal);
    }
    let looks = looks(&root)?;
    let example = root.flag("example")?;
    let cause_sections = root.sections("cause")?;
    at_most("causes", cause_sections.len(), MOST_FAULTS)?;
    let role_nodes: Vec<(String, Node)> =
        roles.iter().map(|(role, point)| (role.clone(), reader.points[*point].node)).collect();
    let around = Surroundings {
        nodes: &reader.nodes,
        parts: &reader.parts,
        movements: &movements,
        insulation,
        signals: &signals,
        looks: &looks,
        start: &start,
        roles: &role_nodes,
        has_causes: !cause_sections.is_empty(),
    };
    let mut faults = faults(&root, &around)?;
    let shows = Shows::decode(&root, &around).map_err(|flaw| flaw.of(|| "`shows`".to_owned()))?;
    let named = cause::Named { nodes: &reader.nodes, parts: &reader.parts, roles: &role_nodes };
    let causes = cause::read(&cause_sections, &named, &mut faults)?;
    root.finish()?;
    let Reader { nodes, points, connectors, parts } = reader;
    let nodes_by_name = nodes.by_name;
    let nodes = nodes.names;
    Ok(Circuit {
        title,
        nominal,
        start,
        share,
        nodes,
        nodes_by_name,
        points,
        connectors,
        roles,
        movements,
        parts,
        causes,
        faults,
        looks,
        shows,
        insulation,
        example,
        signals,
        semantic_errors: Vec::new(),
        tolerances: Vec::new(),
    })
}

struct Reader {
    nodes: NodeTable,
    points: Vec<Point>,
    connectors: Vec<Connector>,
    parts: Vec<Part>,
}

impl Reader {
    fn connector(&mut self, section: &Section) -> Result<(), Flaw> {
        let id = section.name("id")?;
        check_name(id)?;
        self.connector_named(section, id).map_err(|flaw| flaw.of(|| format!("connector `{id}`")))
    }

    fn connector_named(&mut self, section: &Section, id: &str) -> Result<(), Flaw> {
        if self.connectors.iter().any(|connector| connector.id == id) {
            return Err(Problem::Twice { what: "connectors", name: id.to_owned() }.into());
        }
        let place = section.text("place")?.unwrap_or_default().to_owned();
        let (minutes, near) = (minutes(section)?, near(section)?);
        let nut = section.flag("nut")?;
        let pins = section.words("pins")?;
        if pins.is_empty() {
            return Err(section.missing("pins"));
        }
        at_most("pins", pins.len(), MOST_NODES)?;
        at_most("connectors", self.connectors.len() + 1, MOST_OTHERS)?;
        let contact = section.spread_or("contact", Kind::RESISTANCE, 0.005, 0.5)?;
        for (pin, span) in &pins {
            let harness = format!("{id}.{pin}");
            let component = format!("{harness}.component");
            let mut ends = [0; 2];
            for ((node, name), side) in
                ends.iter_mut().zip([&harness, &component]).zip([Side::Harness, Side::Component])
            {
                *node = self.nodes.add(name).map_err(|problem| Flaw::new(problem).at(span.clone()))?;
                self.points.push(Point {
                    id: name.clone(),
                    connector: Some(id.to_owned()),
                    pin: Some((*pin).to_owned()),
                    side: Some(side),
                    color: None,
                    gauge: None,
                    place: place.clone(),
                    minutes,
                    near: near.clone(),
                    node: *node,
                });
            }
            let resistance = section.spread_of(contact.nominal, contact.low, contact.high);
            let kind = Arc::new(ConnectorPin::new(ends, resistance, self.connectors.len()));
            self.add_part(Part {
                id: harness,
                word: connector_pin::WORD,
                kind,
                color: None,
                gauge: None,
                span: span.clone(),
            })?;
        }
        let pins: Vec<String> = pins.into_iter().map(|(pin, _)| pin.to_owned()).collect();
        let rows = rows(section, &pins)?;
        section.finish()?;
        self.connectors.push(Connector { id: id.to_owned(), place, minutes, near, nut, pins, rows });
        Ok(())
    }

    fn point(&mut self, section: &Section, zero: &str) -> Result<(), Flaw> {
        let id = section.name("id")?;
        let read = |reader: &mut Self| -> Result<(), Flaw> {
            let node = match id == zero && reader.points.iter().all(|point| point.id != id) {
                true => 0,
                false => reader.nodes.add(id)?,
            };
            reader.points.push(Point {
                id: id.to_owned(),
                connector: None,
                pin: None,
                side: None,
                color: section.color("color")?,
                gauge: section.gauge("gauge")?,
                place: section.text("place")?.unwrap_or_default().to_owned(),
                minutes: minutes(section)?,
                near: near(section)?,
                node,
            });
            section.finish()
        };
        read(self).map_err(|flaw| flaw.of(|| format!("point `{id}`")))
    }

    fn add_part(&mut self, part: Part) -> Result<(), Flaw> {
        let in_file = |problem, span: Range<usize>| Flaw::new(problem).at(span).of(|| format!("part `{}`", part.id));
        if self.parts.iter().any(|other| other.id == part.id) {
            return Err(in_file(Problem::Twice { what: "parts", name: part.id.clone() }, part.span));
        }
        at_most("parts", self.parts.len() + 1, MOST_PARTS)?;
        let ends = part.kind.ends();
        for (one, other) in part.kind.apart() {
            if ends[*one].1 == ends[*other].1 {
                let point = self.nodes.names[ends[*one].1].clone();
                return Err(in_file(Problem::SamePoint { point }, part.span));
            }
        }
        for point in &mut self.points {
            if ends.iter().any(|(_, node)| *node == point.node) && part.kind.colors_its_ends() {
                point.color = point.color.take().or_else(|| part.color.clone());
                point.gauge = point.gauge.take().or_else(|| part.gauge.clone());
            }
        }
        self.parts.push(part);
        Ok(())
    }

    /// Every node has a part at it and some way to zero volts.
    fn check_reach(&self) -> Result<(), Flaw> {
        let mut reached = vec![false; self.nodes.names.len()];
        let mut counts = vec![0usize; self.nodes.names.len()];
        for (_, node) in self.parts.iter().flat_map(|part| part.kind.ends()) {
            counts[node] += 1;
        }
        // A connector's own contact alone does not reach its pin, unless the component's side is left free on purpose.
        for part in self.parts.iter().filter(|part| part.kind.connector().is_some()) {
            let ends = part.kind.ends();
            if ends.iter().all(|(_, node)| counts[*node] == 1) {
                counts[ends[0].1] = 0;
            }
        }
        if let Some(node) = counts.iter().position(|count| *count == 0) {
            let point = self.nodes.names[node].clone();
            // Zero volts alone is named without being listed.
            let others = self.nodes.names.iter().skip(1).map(String::as_str);
            let nearest = if node == 0 { nearest(&point, others) } else { None };
            let problem = Problem::NothingReaches { point: point.clone(), nearest };
            return Err(Flaw::new(problem).of(|| format!("point `{point}`")));
        }
        reached[0] = true;
        loop {
            let mut grown = false;
            for part in &self.parts {
                let ends = part.kind.ends();
                if ends.iter().any(|(_, node)| reached[*node]) {
                    for (_, node) in ends {
                        grown |= !std::mem::replace(&mut reached[node], true);
                    }
                }
            }
            if !grown {
                break;
            }
        }
        match reached.iter().position(|reached| !reached) {
            None => Ok(()),
            Some(node) => {
                let (point, zero) = (self.nodes.names[node].clone(), self.nodes.names[0].clone());
                let flaw = Flaw::new(Problem::Floats { point: point.clone(), zero }).of(|| format!("point `{point}`"));
                // At the part that drifts with it.
                let at_it = |part: &&Part| part.kind.ends().iter().any(|(_, end)| *end == node);
                let part = self.parts.iter().filter(at_it).find(|part| !part.span.is_empty());
                Err(part.map(|part| part.span.clone()).into_iter().fold(flaw, Flaw::at))
            }
        }
    }

    fn roles(&self, root: &Section) -> Result<Vec<(String, usize)>, Flaw> {
        let mut roles: Vec<(String, usize)> = Vec::new();
        for (role, _, item) in root.named_entries("roles")? {
            for (name, at) in words_of(role, item)? {
                let read = || -> Result<usize, Problem> {
                    check_name(role)?;
                    if role != name && self.nodes.by_name.contains_key(role) {
                        return Err(Problem::Twice { what: "points or roles", name: role.to_owned() });
                    }
                    let known = || nearest(name, self.points.iter().map(|point| point.id.as_str()));
                    let point = self.points.iter().position(|point| point.id == name).ok_or_else(|| {
                        Problem::UnknownName { what: "point", name: name.to_owned(), nearest: known() }
                    })?;
                    if roles.iter().any(|(other, _)| other == role) {
                        return Err(Problem::Twice { what: "roles", name: role.to_owned() });
                    }
                    Ok(point)
                };
                let point = read().map_err(|problem| Flaw::new(problem).at(at).of(|| format!("role `{role}`")))?;
                roles.push((role.to_owned(), point));
            }
        }
        Ok(roles)
    }
}

fn faults(root: &Section, around: &Surroundings) -> Result<Vec<Fault>, Flaw> {
    let sections = root.sections("fault")?;
    at_most("faults", sections.len(), MOST_FAULTS)?;
    let mut faults: Vec<Fault> = Vec::new();
    for section in sections {
        let fault = Fault::decode(&section, around)?;
        if faults.iter().any(|other| other.id == fault.id) {
            return Err(Flaw::new(Problem::Twice { what: "faults", name: fault.id.0 }).at(section.span()));
        }
        faults.push(fault);
    }
    Ok(faults)
}

fn looks(root: &Section) -> Result<Vec<Look>, Flaw> {
    let sections = root.sections("look")?;
    at_most("looks", sections.len(), MOST_OTHERS)?;
    let mut looks: Vec<Look> = Vec::new();
    for section in sections {
        let look = Look::decode(&section)?;
        if looks.iter().any(|other| other.id == look.id) {
            return Err(Flaw::new(Problem::Twice { what: "looks", name: look.id }).at(section.span()));
        }
        looks.push(look);
    }
    Ok(looks)
}

/// What lies near a place; `None` where nothing is said.
fn near(section: &Section) -> Result<Option<Vec<Zone>>, Flaw> {
    let zone = |(word, span): (&str, Range<usize>)| match check_name(word) {
        Ok(()) => Ok(Zone::new(word)),
        Err(problem) => Err(Flaw::new(problem).at(span)),
    };
    let said = section.has("near");
    let zones = section.words("near")?.into_iter().map(zone).collect::<Result<Vec<_>, _>>()?;
    Ok(said.then_some(zones))
}

/// The pins of a connector as they lie beside each other: each of its pins at most once.
fn rows(section: &Section, pins: &[String]) -> Result<Vec<Vec<String>>, Flaw> {
    let Some(item) = section.item("rows") else { return Ok(Vec::new()) };
    let wrong = || section.not_a("rows", "a list of rows of pins such as `[[\"1\", \"2\"], [\"3\", \"4\"]]`");
    let DeValue::Array(items) = item.get_ref() else { return Err(wrong()) };
    let mut rows: Vec<Vec<String>> = Vec::new();
    for item in items.iter() {
        let DeValue::Array(_) = item.get_ref() else { return Err(wrong()) };
        let mut row = Vec::new();
        for (pin, span) in words_of("rows", item)? {
            if !pins.iter().any(|known| known == pin) {
                let nearest = nearest(pin, pins.iter().map(String::as_str));
                return Err(Flaw::new(Problem::UnknownName { what: "pin", name: pin.to_owned(), nearest }).at(span));
            }
            if rows.iter().flatten().chain(&row).any(|other| other == pin) {
                return Err(Flaw::new(Problem::Twice { what: "pins", name: pin.to_owned() }).at(span));
            }
            row.push(pin.to_owned());
        }
        rows.push(row);
    }
    Ok(rows)
}

fn minutes(section: &Section) -> Result<f64, Flaw> {
    let minutes = section.number("minutes")?.unwrap_or(1.0);
    if (0.0..=10_000.0).contains(&minutes) { Ok(minutes) } else { Err(section.not_a("minutes", "a number of minutes")) }
}
