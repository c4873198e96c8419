//! The generated family: what can be wrong with every wire, joint, pin, source, load and switch, listed or not.

use super::cause;
use super::effect::{Effect, Stuck};
use super::error::SolveError;
use super::fault::Fault;
use super::movement::Travel;
use super::netlist::Circuit;
use super::nets::Wiring;
use super::nodes::Node;
use super::parts::part::Part;
use super::sample::Sample;
use super::severity::{Of, Severity};
use super::showing::{Plain, shown};
use crate::model::dimension::Dimension;
use crate::model::meter::Meter;
use std::sync::Arc;

/// The family's weight against that of all listed faults together.
const SHARE: f64 = 0.2;
/// Ohms that a wire, joint, pin or stud may gain; what no wire has at its worst and what is as good as open.
const ADDED: (f64, f64) = (0.01, 1e6);
/// Ohms of the worst short.
const DEAD_SHORT: f64 = 0.01;
/// Places on a range at which it is looked whether the fault shows, and halvings at either end of what does.
const STEPS: usize = 16;
const HALVINGS: usize = 6;

/// One fault of the family.
#[derive(Clone, Debug)]
pub struct Generated {
    /// The fault; its `how_common` is its weight. Its causes are those that cover it.
    pub fault: Fault,
    /// Other names of the same electrical effect.
    pub also: Vec<String>,
    /// The kind of part, as written in the file.
    pub kind: &'static str,
    /// The part.
    pub part: String,
    /// What is wrong with it: `open`, `to_ground` …
    pub way: String,
}

/// A candidate before it is known whether it shows.
struct Candidate {
    part: usize,
    way: String,
    what: String,
    effect: Effect,
    range: Option<Severity>,
}

/// The family of a circuit: of each range only what shows on the vehicle as designed, and no fault that never does. Empty where
/// the circuit does not say when a fault shows. Equal effects are one fault, and what a listed fault does already is left out.
/// It takes thousands of solutions: make it once.
pub fn generated(circuit: &Arc<Circuit>, meter: &Meter) -> Vec<Generated> {
    if circuit.shows.is_none() {
        return Vec::new();
    }
    let wiring = Wiring { parts: &circuit.parts };
    let mut family: Vec<(Generated, Key)> = Vec::new();
    let listed: Vec<Key> = circuit.faults.iter().filter_map(|fault| circuit.key_of_listed(fault)).collect();
    for candidate in candidates(circuit) {
        let id = format!("generated/{}/{}", circuit.parts[candidate.part].id, candidate.way);
        let key = circuit.key(&candidate.effect, candidate.range.is_some());
        let places = wiring.places(std::slice::from_ref(&candidate.effect));
        if let Some((same, _)) = family.iter_mut().find(|(_, other)| *other == key) {
            // Nobody can tell which of the two it is, so either is the faulty part.
            for (known, more) in same.fault.places.iter_mut().zip(places) {
                known.extend(more);
            }
            same.also.push(id);
            continue;
        }
        if listed.contains(&key) {
            continue;
        }
        let part = &circuit.parts[candidate.part];
        let mut fault = Fault::nameless(&id);
        fault.what = candidate.what;
        fault.effects = vec![candidate.effect];
        fault.severity = candidate.range;
        fault.is_generated = true;
        fault.places = places;
        let way = candidate.way;
        family.push((Generated { fault, also: vec![], kind: part.word, part: part.id.clone(), way }, key));
    }
    let mut shown: Vec<Generated> =
        family.into_iter().filter_map(|(generated, _)| cut_to_what_shows(circuit, generated, meter)).collect();
    weigh(circuit, &mut shown);
    for generated in &mut shown {
        cause::tell(&mut generated.fault, &circuit.causes);
    }
    shown
}

fn candidates(circuit: &Circuit) -> Vec<Candidate> {
    let mut all = Vec::new();
    for (number, part) in circuit.parts.iter().enumerate() {
        let mut add = |way: &str, what: String, effect, range| {
            all.push(Candidate { part: number, way: way.to_owned(), what, effect, range });
        };
        let id = &part.id;
        let faults = part.kind.faults();
        let whole = |branch| Effect::Open { part: number, branch };
        if part.is_wire() {
            add("open", format!("{} `{id}` open", part.word), whole(None), None);
            if let Some((_, healthy)) = faults.added {
                let low = ADDED.0.max((healthy.high - healthy.low) * 1.01);
                add_ohms(&mut add, number, id, low);
            }
        }
        if let Some(connector) = part.kind.connector() {
            pin_shorts(circuit, number, connector, &mut add);
        }
        if matches!(part.word, "battery" | "regulator" | "alternator")
            && let Some((_, healthy)) = faults.value
        {
            for (way, low, high) in [("low", 0.5, 0.97), ("high", 1.03, 1.5)] {
                let (low, high) = (healthy.nominal * low, healthy.nominal * high);
                let (low, high) = if way == "low" {
                    (low, high.min(healthy.low * 0.999))
                } else {
                    (low.max(healthy.high * 1.001), high)
                };
                if low < high {
                    let range =
                        Severity { effect: 0, of: Of::Value, low, high, dimension: faults.value_kind.dimension };
                    let effect = Effect::Set { part: number, value: range.middle() };
                    add(way, format!("voltage of `{id}` {way}"), effect, Some(range));
                }
            }
        }
        let sensor = faults.movement.is_some();
        if sensor || matches!(part.word, "coil" | "lamp" | "motor" | "diode" | "led") {
            add("open", format!("{} `{id}` open inside", part.word), whole(None), None);
            let (from, to) = across(part);
            if from != to {
                let effect = Effect::Short { from, to, ohms: DEAD_SHORT };
                add("shorted", format!("{} `{id}` shorted inside", part.word), effect, None);
            }
        }
        if part.word == "relay" {
            add("coil_open", format!("coil of `{id}` open"), whole(Some("coil")), None);
            let ends = part.kind.ends();
            let effect = Effect::Short { from: ends[0].1, to: ends[1].1, ohms: DEAD_SHORT };
            add("coil_shorted", format!("coil of `{id}` shorted"), effect, None);
        }
        if matches!(part.word, "relay" | "switch") {
            for (way, at) in [("stuck_open", Stuck::Open), ("stuck_closed", Stuck::Closed)] {
                let words = way.replace('_', " ");
                add(way, format!("{} `{id}` {words}", part.word), Effect::Stuck { part: number, at }, None);
            }
        }
        if let Some(movement) = faults.movement {
            for (way, at) in stops(&circuit.movements[movement].travel) {
                let words = way.replace('_', " ");
                let effect = Effect::Stuck { part: number, at: Stuck::At(at) };
                add(&way, format!("{} `{id}` {words}", part.word), effect, None);
            }
        }
    }
    all
}

type Add<'a> = dyn FnMut(&str, String, Effect, Option<Severity>) + 'a;

fn add_ohms(add: &mut Add, part: usize, id: &str, low: f64) {
    let range = Severity { effect: 0, of: Of::Ohms, low, high: ADDED.1, dimension: Dimension::RESISTANCE };
    let effect = Effect::Added { part, ohms: range.middle() };
    add("resistance", format!("resistance in `{id}`"), effect, Some(range));
}

/// A pin against ground, the battery and the pins beside it, on the harness's side.
fn pin_shorts(circuit: &Circuit, number: usize, connector: usize, add: &mut Add) {
    let wiring = Wiring { parts: &circuit.parts };
    let part = &circuit.parts[number];
    let pin = part.kind.ends()[0].1;
    let posts = outer_posts(circuit);
    let mut others: Vec<(String, String, Node)> = Vec::new();
    if let Some((positive, negative)) = posts {
        // What a wire chafes on is the frame: with the battery's cable off, its post is no ground any more.
        let clamp = circuit.parts.iter().find(|part| part.word == "negative_clamp");
        let beyond = |clamp: &Part| clamp.kind.ends().iter().map(|(_, node)| *node).find(|node| *node != negative);
        let frame = clamp.and_then(beyond).unwrap_or(negative);
        others.push(("to_ground".to_owned(), "ground".to_owned(), frame));
        others.push(("to_battery".to_owned(), "the battery".to_owned(), positive));
    }
    let connector = &circuit.connectors[connector];
    for (one, other) in connector.neighbors() {
        let (one, other) = (format!("{}.{one}", connector.id), format!("{}.{other}", connector.id));
        if let (true, Ok(node)) = (one == part.id, circuit.node(&other)) {
            others.push((format!("to_{other}"), format!("`{other}`"), node));
        }
    }
    for (way, what, to) in others {
        let (low, high) = (DEAD_SHORT, circuit.insulation / 10.0);
        if wiring.net(pin).contains(&to) || low >= high {
            continue;
        }
        let range = Severity { effect: 0, of: Of::Ohms, low, high, dimension: Dimension::RESISTANCE };
        let effect = Effect::Short { from: pin, to, ohms: range.middle() };
        add(&way, format!("`{}` leaks to {what}", part.id), effect, Some(range));
    }
}

/// The positive and the negative post of the vehicle's supply: of two batteries in series, the outer ones.
fn outer_posts(circuit: &Circuit) -> Option<(Node, Node)> {
    let wiring = Wiring { parts: &circuit.parts };
    let posts: Vec<_> = circuit.parts.iter().filter_map(|part| part.kind.posts()).collect();
    let meets = |node: Node, other: &dyn Fn(&(Node, Node)) -> Node| {
        let net = wiring.net(node);
        posts.iter().any(|pair| net.contains(&other(pair)))
    };
    let positive =
        posts.iter().map(|(positive, _)| *positive).find(|node| !meets(*node, &|(_, negative)| *negative))?;
    let negative =
        posts.iter().map(|(_, negative)| *negative).find(|node| !meets(*node, &|(positive, _)| *positive))?;
    Some((positive, negative))
}

/// The two ends between which a load or a sensor is shorted inside.
fn across(part: &Part) -> (Node, Node) {
    let ends = part.kind.ends();
    let end = |names: [&str; 2]| {
        let find = |name: &str| ends.iter().find(|(known, _)| *known == name).map(|(_, node)| *node);
        find(names[0]).zip(find(names[1]))
    };
    let known = end(["supply", "ground"]).or_else(|| end(["high", "low"])).or_else(|| end(["from", "to"]));
    known.unwrap_or((ends[0].1, ends[0].1))
}

/// Each end and the middle of a travel; each choice.
fn stops(travel: &Travel) -> Vec<(String, f64)> {
    match travel {
        Travel::Between { from, to, .. } => {
            let middle = f64::midpoint(from.si(), to.si());
            let ends = [("start", from.si()), ("middle", middle), ("end", to.si())];
            ends.into_iter().map(|(place, at)| (format!("stuck_at_{place}"), at)).collect()
        }
        Travel::Choices(choices) => {
            let at = |(number, choice): (usize, &String)| (format!("stuck_at_{choice}"), number as f64);
            choices.iter().enumerate().map(at).collect()
        }
    }
}

/// What an effect does to the circuit: two effects with the same key can't be told apart with any lead.
#[derive(Debug, PartialEq)]
enum Key {
    /// The chain of parts is open.
    Open(usize),
    /// So much more in the chain.
    Added(usize),
    /// Two nodes are connected, at one value or over a range.
    Short(Node, Node, bool),
    /// Anything else is like itself only.
    Other(Effect),
}

impl Circuit {
    fn key(&self, effect: &Effect, ranged: bool) -> Key {
        match *effect {
            Effect::Open { part, branch: None } => Key::Open(self.chain(part)),
            Effect::Stuck { part, at: Stuck::Open } if self.parts[part].word == "switch" => Key::Open(self.chain(part)),
            Effect::Added { part, .. } => Key::Added(self.chain(part)),
            Effect::Short { from, to, .. } => Key::Short(from.min(to), from.max(to), ranged),
            _ => Key::Other(effect.clone()),
        }
    }

    /// The key of a listed fault with one effect and one severity, which is always there.
    fn key_of_listed(&self, fault: &Fault) -> Option<Key> {
        match &fault.effects[..] {
            [Effect::Short { ohms, .. }] if *ohms > 2.0 * DEAD_SHORT => None,
            [Effect::Added { .. }] => None,
            [effect] if fault.severity.is_none() && fault.only_while.is_none() => Some(self.key(effect, false)),
            _ => None,
        }
    }

    /// The first of the parts with two ends that lie one after the other with nothing but junctions between them that no
    /// lead reaches.
    fn chain(&self, part: usize) -> usize {
        let two_ends = |part: &Part| part.kind.in_line().or_else(|| part.kind.connection());
        let mut chain = vec![part];
        let mut next = 0;
        while let Some(number) = chain.get(next).copied() {
            next += 1;
            let Some((one, other)) = two_ends(&self.parts[number]) else { continue };
            for node in [one, other] {
                if self.points.iter().any(|point| point.node == node) || node == 0 {
                    continue;
                }
                let at: Vec<usize> = (0..self.parts.len()).filter(|number| self.parts[*number].ends_at(node)).collect();
                if at.len() == 2 {
                    let goes_on = |at: &usize| !chain.contains(at) && two_ends(&self.parts[*at]).is_some();
                    let further: Vec<usize> = at.into_iter().filter(goes_on).collect();
                    chain.extend(further);
                }
            }
        }
        chain.into_iter().min().unwrap_or(part)
    }
}

/// The fault with its range cut to the severities that show on the vehicle as designed; `None` if none does. A severity that
/// leaves the circuit without an answer does not show; if none shows, and one is such, the fault is left as it is: that is told
/// where it is run.
fn cut_to_what_shows(circuit: &Arc<Circuit>, generated: Generated, meter: &Meter) -> Option<Generated> {
    let plain = |severity| -> Result<bool, SolveError> {
        let plain = shown(circuit, Some(&generated.fault), severity, Sample::NOMINAL, meter)?;
        Ok(plain > Plain::Hidden)
    };
    let shows = |severity| plain(severity).unwrap_or(false);
    let Some(range) = generated.fault.severity else { return plain(None).unwrap_or(true).then_some(generated) };
    let at = |step: usize| step as f64 / STEPS as f64;
    let steps: Vec<_> = (0..=STEPS).map(|step| plain(Some(range.at(at(step))))).collect();
    let mut seen = (0..=STEPS).filter(|step| matches!(steps[*step], Ok(true)));
    let Some(first) = seen.next() else { return steps.iter().any(Result::is_err).then_some(generated) };
    let last = seen.next_back().unwrap_or(first);
    let edge = |mut inside: f64, mut outside: f64| {
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(inside, outside);
            if shows(Some(range.at(middle))) { inside = middle } else { outside = middle }
        }
        inside
    };
    let low = if first == 0 { 0.0 } else { edge(at(first), at(first - 1)) };
    let high = if last == STEPS { 1.0 } else { edge(at(last), at(last + 1)) };
    let mut cut = generated.clone();
    // A range of one value is that value.
    let (low, high) = (range.at(low), range.at(high));
    cut.fault.severity = Some(Severity { low, high, ..range }).filter(|range| range.low < range.high);
    let value = cut.fault.severity.map_or(low, |range| range.middle());
    cut.fault.effects[0].set(range.of, value);
    Some(cut)
}

/// Divides a fifth of what the listed faults weigh by kind, then part, then way.
fn weigh(circuit: &Circuit, family: &mut [Generated]) {
    let listed: f64 = circuit.faults.iter().map(|fault| fault.how_common).sum();
    let all = SHARE * if circuit.faults.is_empty() { 1.0 } else { listed };
    let of = |family: &[Generated], key: &dyn Fn(&Generated) -> bool| family.iter().filter(|one| key(one)).count();
    let mut kinds: Vec<&str> = family.iter().map(|one| one.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let weights: Vec<f64> = family
        .iter()
        .map(|one| {
            let mut parts: Vec<&str> =
                family.iter().filter(|other| other.kind == one.kind).map(|other| other.part.as_str()).collect();
            parts.sort_unstable();
            parts.dedup();
            let ways = of(family, &|other| other.part == one.part);
            all / kinds.len() as f64 / parts.len() as f64 / ways as f64
        })
        .collect();
    for (one, weight) in family.iter_mut().zip(weights) {
        one.fault.how_common = weight;
    }
}
