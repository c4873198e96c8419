//! What a procedure may conclude about a circuit: the causes, which parts each covers and which its correction replaces.

use super::decode::{Section, check_name};
use super::error::{Flaw, Problem};
use super::fault::Fault;
use super::nets::Wiring;
use super::nodes::{Node, Nodes};
use super::parts::part::Part;
use crate::model::words::nearest;
use std::collections::BTreeSet;
use std::ops::Range;

/// The word in a fault's `causes` for "it may not be there while it is tested".
pub const NOT_PRESENT: &str = "not_present";

/// A cause.
#[derive(Clone, Debug)]
pub struct Cause {
    /// Its name: a procedure's header has the same.
    pub id: String,
    /// What it is, in words; empty where only faults name it.
    pub what: String,
    /// What to do; empty where only faults name it.
    pub correction: String,
    /// Whether it may rest on what a person saw, and on nothing else.
    pub on_a_look: bool,
    /// Whether it has a `[[cause]]` of its own.
    pub declared: bool,
    /// The parts that it covers, by number: those that its correction replaces are among them.
    pub(super) covered: BTreeSet<usize>,
    /// The parts that its correction replaces, by number.
    pub(super) replaced: BTreeSet<usize>,
    /// Whether it says itself what it covers.
    says_covers: bool,
    pub(super) span: Range<usize>,
}

impl Cause {
    /// Whether it is a right conclusion from this fault, generated or listed: the fault lists it, or it covers a faulty part.
    pub fn covers(&self, fault: &Fault) -> bool {
        fault.causes.contains(&self.id)
    }

    /// Whether its author says what it covers; where no part is listed, it is about none.
    pub(super) fn says_covers(&self) -> bool {
        self.says_covers
    }

    /// The parts that it covers, by number.
    pub const fn covered(&self) -> &BTreeSet<usize> {
        &self.covered
    }

    /// The parts that its correction replaces, by number. A cause that only faults name replaces the parts of those faults.
    pub const fn replaces(&self) -> &BTreeSet<usize> {
        &self.replaced
    }

    /// Whether its correction replaces a part that this fault leaves whole; of no fault any part.
    pub fn replaces_a_whole_part(&self, fault: Option<&Fault>) -> bool {
        let faulty = |part: &usize| fault.is_some_and(|fault| fault.places.iter().flatten().any(|other| other == part));
        self.replaced.iter().any(|part| !faulty(part))
    }

    fn holds(&self, fault: &Fault) -> bool {
        !fault.places.is_empty()
            && fault.places.iter().all(|place| place.iter().any(|part| self.covered.contains(part)))
    }
}

/// What a cause may refer to.
pub(super) struct Named<'a> {
    pub nodes: &'a dyn Nodes,
    pub parts: &'a [Part],
    pub roles: &'a [(String, Node)],
}

/// Reads `[[cause]]`, adds the causes that only faults name, and tells every fault which causes cover it.
pub(super) fn read(sections: &[Section], named: &Named, faults: &mut [Fault]) -> Result<Vec<Cause>, Flaw> {
    let wiring = Wiring { parts: named.parts };
    let mut causes: Vec<Cause> = Vec::new();
    for section in sections {
        let cause = decode(section, named)?;
        if causes.iter().any(|other| other.id == cause.id) {
            return Err(Flaw::new(Problem::Twice { what: "causes", name: cause.id }).at(section.span()));
        }
        causes.push(cause);
    }
    for fault in faults.iter_mut() {
        fault.places = wiring.places(&fault.effects);
    }
    let declared = !causes.is_empty();
    for fault in faults.iter() {
        for id in fault.causes.iter().filter(|id| *id != NOT_PRESENT) {
            if causes.iter().any(|cause| cause.id == *id) {
                continue;
            }
            if declared {
                let nearest = nearest(id, causes.iter().map(|cause| cause.id.as_str()));
                let problem = Problem::UnknownName { what: "cause", name: id.clone(), nearest };
                return Err(Flaw::new(problem).at(fault.span.clone()).of(|| format!("fault `{}`", fault.id)));
            }
            causes.push(Cause { declared: false, ..Cause::nameless(id, fault.span.clone()) });
        }
    }
    for cause in &mut causes {
        if cause.says_covers {
            continue;
        }
        for fault in faults.iter().filter(|fault| fault.causes.contains(&cause.id)) {
            cause.covered.extend(wiring.covered_with(&fault.effects));
            if !cause.declared {
                cause.replaced.extend(fault.places.iter().flatten());
            }
        }
    }
    for fault in faults {
        tell(fault, &causes);
    }
    Ok(causes)
}

/// Tells a fault which causes cover it, besides those that it lists.
pub(super) fn tell(fault: &mut Fault, causes: &[Cause]) {
    for cause in causes.iter().filter(|cause| cause.declared || fault.is_generated) {
        if !fault.causes.contains(&cause.id) && cause.holds(fault) {
            fault.causes.push(cause.id.clone());
        }
    }
}

impl Cause {
    fn nameless(id: &str, span: Range<usize>) -> Self {
        Self {
            id: id.to_owned(),
            what: String::new(),
            correction: String::new(),
            on_a_look: false,
            declared: true,
            covered: BTreeSet::new(),
            replaced: BTreeSet::new(),
            says_covers: false,
            span,
        }
    }
}

fn decode(section: &Section, named: &Named) -> Result<Cause, Flaw> {
    let id = section.name("id")?;
    check_name(id).map_err(|problem| Flaw::new(problem).at(section.span()))?;
    one(section, named, id).map_err(|flaw| flaw.at(section.span()).of(|| format!("cause `{id}`")))
}

fn one(section: &Section, named: &Named, id: &str) -> Result<Cause, Flaw> {
    if id == NOT_PRESENT {
        return Err(section.not_a("id", "a cause: `not_present` is always there, and nothing is wrong with it"));
    }
    let wiring = Wiring { parts: named.parts };
    let mut cause = Cause::nameless(id, section.span());
    cause.what = section.name("what")?.to_owned();
    cause.correction = section.name("correction")?.to_owned();
    cause.on_a_look = section.flag("on_a_look")?;
    let covers = section.words("covers")?;
    cause.says_covers = section.item("covers").is_some();
    for (word, span) in covers {
        let parts = match word.split_once(':') {
            Some(("net", point)) => named.node(point).map(|node| wiring.net_parts(node)),
            Some(("upstream", point)) => named.node(point).map(|node| wiring.upstream(node)),
            Some(_) => Err(Problem::NotA { key: word.to_owned(), expected: "a part, `net:POINT` or `upstream:POINT`" }),
            None => named.part(word).map(|part| BTreeSet::from([part])),
        };
        cause.covered.extend(parts.map_err(|problem| Flaw::new(problem).at(span))?);
    }
    for (word, span) in section.words("replaces")? {
        let part = named.part(word).map_err(|problem| Flaw::new(problem).at(span))?;
        cause.replaced.insert(part);
        cause.covered.insert(part);
    }
    section.finish()?;
    Ok(cause)
}

impl Named<'_> {
    fn part(&self, name: &str) -> Result<usize, Problem> {
        self.parts.iter().position(|part| part.id == name).ok_or_else(|| Problem::UnknownName {
            what: "part",
            name: name.to_owned(),
            nearest: nearest(name, self.parts.iter().map(|part| part.id.as_str())),
        })
    }

    /// The node of a point or a role.
    pub fn node(&self, name: &str) -> Result<Node, Problem> {
        match self.roles.iter().find(|(role, _)| role == name) {
            Some((_, node)) => Ok(*node),
            None => self.nodes.find(name),
        }
    }
}
