//! What hangs together: the net of a point, what feeds it, and which parts a fault is in.

use super::effect::Effect;
use super::nodes::Node;
use super::parts::connector_pin;
use super::parts::part::Part;
use std::collections::BTreeSet;

/// Parts that are there to connect their two ends, and neither switch nor blow.
const WIRES: [&str; 5] = ["wire", "joint", "ground_stud", "negative_clamp", connector_pin::WORD];

/// The parts of a circuit as what connects its nodes.
#[derive(Clone, Copy)]
pub(super) struct Wiring<'a> {
    pub parts: &'a [Part],
}

impl Part {
    /// Whether it is a wire, a joint, a stud, a clamp or a connector's pin.
    pub fn is_wire(&self) -> bool {
        WIRES.contains(&self.word)
    }

    /// Its end of this name.
    fn end(&self, name: &str) -> Option<Node> {
        self.kind.ends().into_iter().find(|(known, _)| *known == name).map(|(_, node)| node)
    }

    /// Pairs of ends between which it passes the current on, closed or not.
    fn passes(&self) -> Vec<(Node, Node)> {
        let pair = |one: &str, other: &str| self.end(one).zip(self.end(other));
        match self.word {
            "switch" | "fuse" | "diode" | "led" => pair("from", "to").into_iter().collect(),
            "relay" => pair("common", "normally_open").into_iter().chain(pair("common", "normally_closed")).collect(),
            "regulator" => pair("output", "input").into_iter().collect(),
            _ if self.is_wire() => {
                let ends = self.kind.ends();
                vec![(ends[0].1, ends[1].1)]
            }
            _ => vec![],
        }
    }

    /// Whether it ends at this node.
    pub(super) fn ends_at(&self, node: Node) -> bool {
        self.kind.ends().iter().any(|(_, end)| *end == node)
    }
}

impl Wiring<'_> {
    fn numbers(&self, which: impl Fn(&Part) -> bool) -> BTreeSet<usize> {
        self.parts.iter().enumerate().filter(|(_, part)| which(part)).map(|(number, _)| number).collect()
    }

    /// The batteries' posts.
    fn posts(&self) -> BTreeSet<Node> {
        self.parts.iter().filter_map(|part| part.kind.posts()).flat_map(|(plus, minus)| [plus, minus]).collect()
    }

    /// Every node that wires, joints and pins connect with this one.
    pub fn net(&self, node: Node) -> BTreeSet<Node> {
        let links: Vec<(Node, Node)> = self.parts.iter().filter(|part| part.is_wire()).flat_map(Part::passes).collect();
        reached(&links, &BTreeSet::from([node]), None)
    }

    /// The wires, joints and pins of a point's net.
    pub fn net_parts(&self, node: Node) -> BTreeSet<usize> {
        let net = self.net(node);
        self.numbers(|part| part.is_wire() && part.kind.ends().iter().any(|(_, end)| net.contains(end)))
    }

    /// What has to be whole for a point to be fed: the batteries and every part on a way from them to it, with what feeds the
    /// coils of the relays among them.
    pub fn upstream(&self, node: Node) -> BTreeSet<usize> {
        let mut fed = BTreeSet::new();
        let mut asked = BTreeSet::new();
        let mut ask = vec![node];
        while let Some(node) = ask.pop() {
            if asked.insert(node) {
                for part in self.on_the_way(node) {
                    fed.insert(part);
                    ask.extend(["coil_from", "coil_to"].iter().filter_map(|end| self.parts[part].end(end)));
                    // A module that drives it is fed, too.
                    ask.extend(self.parts[part].end("ground").filter(|_| self.parts[part].word == "module_output"));
                }
            }
        }
        if !fed.is_empty() {
            fed.extend(self.numbers(|part| part.kind.posts().is_some()));
        }
        fed
    }

    fn on_the_way(&self, node: Node) -> Vec<usize> {
        let mut links: Vec<(usize, Node, Node)> = Vec::new();
        for (number, part) in self.parts.iter().enumerate() {
            links.extend(part.passes().into_iter().map(|(one, other)| (number, one, other)));
            if part.word == "module_output" {
                let ends = [part.end("pin"), part.end("supply"), part.end("ground")];
                if let [Some(pin), Some(supply), Some(ground)] = ends {
                    links.extend([(number, pin, supply), (number, pin, ground)]);
                }
            }
        }
        let plain: Vec<(Node, Node)> = links.iter().map(|(_, one, other)| (*one, *other)).collect();
        let (from, posts) = (BTreeSet::from([node]), self.posts());
        let leads = |one: Node, other: Node| {
            (from.contains(&one) || !posts.contains(&one))
                && reached(&plain, &from, Some(other)).contains(&one)
                && reached(&plain, &posts, Some(one)).contains(&other)
        };
        links.iter().filter(|(_, one, other)| leads(*one, *other) || leads(*other, *one)).map(|link| link.0).collect()
    }

    /// The ends that a short brings together and that are not a battery's own net; both where both are.
    fn shorted(&self, from: Node, to: Node) -> Vec<Node> {
        let fed: BTreeSet<Node> = self.posts().into_iter().flat_map(|post| self.net(post)).collect();
        let shorted: Vec<Node> = [from, to].into_iter().filter(|node| !fed.contains(node)).collect();
        if shorted.is_empty() { vec![from, to] } else { shorted }
    }

    /// The parts between two points that a short there is inside of.
    fn across(&self, from: Node, to: Node) -> Vec<usize> {
        let inside = |part: &Part| !part.is_wire() && part.ends_at(from) && part.ends_at(to);
        self.numbers(inside).into_iter().collect()
    }

    /// Where a fault is: of each effect the parts of which any one may be the faulty one.
    pub fn places(&self, effects: &[Effect]) -> Vec<Vec<usize>> {
        let mut places = Vec::new();
        for effect in effects {
            match *effect {
                Effect::Short { from, to, .. } => {
                    let mut at = self.across(from, to);
                    if at.is_empty() {
                        let shorted = self.shorted(from, to);
                        let connector = |node| {
                            self.parts.iter().filter(|part| part.ends_at(node)).find_map(|part| part.kind.connector())
                        };
                        let both = connector(from).is_some() && connector(from) == connector(to);
                        let ends = if both { vec![from, to] } else { shorted };
                        let here = |part: &Part| part.is_wire() && ends.iter().any(|node| part.ends_at(*node));
                        at = self.numbers(here).into_iter().collect();
                        if at.is_empty() {
                            at = self.numbers(|part| ends.iter().any(|node| part.ends_at(*node))).into_iter().collect();
                        }
                    }
                    places.push(at);
                }
                // Both terminals are whole; only a cause that the fault lists is about their cavities.
                Effect::Swapped { .. } => places.push(vec![]),
                Effect::Open { part, .. }
                | Effect::Shorted { part, .. }
                | Effect::Added { part, .. }
                | Effect::Drift { part, .. }
                | Effect::Set { part, .. }
                | Effect::Stuck { part, .. }
                | Effect::Worn { part, .. } => places.push(vec![part]),
            }
        }
        places
    }

    /// What a cause covers whose author lists this fault and does not say what it covers.
    pub fn covered_with(&self, effects: &[Effect]) -> BTreeSet<usize> {
        let mut covered = BTreeSet::new();
        for effect in effects {
            if let Effect::Short { from, to, .. } = *effect {
                let inside = self.across(from, to);
                if inside.is_empty() {
                    covered.extend(self.shorted(from, to).into_iter().flat_map(|node| self.net_parts(node)));
                }
                covered.extend(inside);
                continue;
            }
            for part in self.places(std::slice::from_ref(effect)).into_iter().flatten() {
                covered.insert(part);
                covered.extend(self.ends_of_the_wire(part));
            }
        }
        covered
    }

    /// Of a wire the pins at both of its ends; of a pin the wires at it and the pins at their other ends.
    fn ends_of_the_wire(&self, part: usize) -> BTreeSet<usize> {
        let is_pin = |part: &Part| part.kind.connector().is_some();
        let at = |nodes: &[(&'static str, Node)], part: &Part| nodes.iter().any(|(_, node)| part.ends_at(*node));
        let found = &self.parts[part];
        let wires = match found.word {
            "wire" => BTreeSet::from([part]),
            connector_pin::WORD => {
                let ends = found.kind.ends();
                self.numbers(|other| other.word == "wire" && at(&ends, other))
            }
            _ => return BTreeSet::new(),
        };
        let mut all = wires.clone();
        for wire in wires {
            let ends = self.parts[wire].kind.ends();
            all.extend(self.numbers(|other| is_pin(other) && at(&ends, other)));
        }
        all
    }
}

/// The nodes that links reach from some, without going through one.
fn reached(links: &[(Node, Node)], from: &BTreeSet<Node>, without: Option<Node>) -> BTreeSet<Node> {
    let mut reached: BTreeSet<Node> = from.iter().copied().filter(|node| Some(*node) != without).collect();
    loop {
        let before = reached.len();
        for (one, other) in links {
            if Some(*one) != without && Some(*other) != without && (reached.contains(one) || reached.contains(other)) {
                reached.extend([*one, *other]);
            }
        }
        if reached.len() == before {
            return reached;
        }
    }
}
