//! Where a lead can go.

use super::gauge::Gauge;
use super::nodes::Node;
use crate::model::prompt::Zone;

/// A place where a lead can go.
#[derive(Clone, Debug)]
pub struct Point {
    /// Its name: `C41.3`, of the component's side `C41.3.component`, or any other word.
    pub id: String,
    /// Connector, if it is a pin of one.
    pub connector: Option<String>,
    /// Pin of the connector.
    pub pin: Option<String>,
    /// Side of the connector.
    pub side: Option<Side>,
    /// Color of the wire that ends here.
    pub color: Option<String>,
    /// Size of the wire that ends here.
    pub gauge: Option<Gauge>,
    /// Where it is on the vehicle.
    pub place: String,
    /// Minutes that it takes to get at it.
    pub minutes: f64,
    /// What lies near it, for the cautions; `None` where nothing is said.
    pub near: Option<Vec<Zone>>,
    pub(super) node: Node,
}

impl Point {
    /// Its node, for readings off one solution.
    pub const fn node(&self) -> Node {
        self.node
    }
}

/// Side of a connector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Of the wires that lead away from the component.
    Harness,
    /// Of the component; of an in-line connector, the harness beyond it.
    Component,
}

/// A connector that can be taken apart.
#[derive(Clone, Debug)]
pub struct Connector {
    /// Its name.
    pub id: String,
    /// Where it is on the vehicle.
    pub place: String,
    /// Minutes that it takes to get at it.
    pub minutes: f64,
    /// What lies near it, for the cautions; `None` where nothing is said.
    pub near: Option<Vec<Zone>>,
    /// A cable's lug on a stud, held by a nut; no plug.
    pub nut: bool,
    /// Its pins.
    pub pins: Vec<String>,
    /// Its pins as they lie beside each other; empty where nothing is said of that.
    pub rows: Vec<Vec<String>>,
}

impl Connector {
    /// Pairs of pins that lie beside each other: in a row, and in the same place of the next row; without rows those with
    /// consecutive numbers or letters.
    pub fn neighbors(&self) -> Vec<(&str, &str)> {
        let mut pairs = Vec::new();
        for (number, row) in self.rows.iter().enumerate() {
            pairs.extend(row.windows(2).map(|pair| (pair[0].as_str(), pair[1].as_str())));
            let next = self.rows.get(number + 1).into_iter().flatten();
            pairs.extend(row.iter().zip(next).map(|(one, other)| (one.as_str(), other.as_str())));
        }
        if self.rows.is_empty() {
            let mut numbered: Vec<(u64, &str)> =
                self.pins.iter().filter_map(|pin| Some((number_of(pin)?, pin.as_str()))).collect();
            numbered.sort_unstable();
            let beside = |pair: &&[(u64, &str)]| pair[0].0 + 1 == pair[1].0;
            pairs.extend(numbered.windows(2).filter(beside).map(|pair| (pair[0].1, pair[1].1)));
        }
        pairs
    }
}

/// The number of a pin; of a letter its place in the alphabet, above all numbers.
fn number_of(pin: &str) -> Option<u64> {
    let mut letters = pin.chars();
    match (letters.next(), letters.next()) {
        (Some(letter), None) if letter.is_ascii_alphabetic() => Some((1 << 32) + u64::from(letter)),
        _ => pin.parse().ok().filter(|number| *number < 1 << 31),
    }
}
