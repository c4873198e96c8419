//! The nodes of a circuit, while its file is read.

use super::decode::check_name;
use super::error::Problem;
use crate::model::words::nearest;
use std::collections::HashMap;

/// A node: a point where a lead can go, or a junction inside a part. Numbered in the circuit's order.
pub type Node = usize;

/// Finds the node of a name, or adds a junction inside a part.
pub trait Nodes {
    /// The node of this name.
    fn find(&self, name: &str) -> Result<Node, Problem>;
    /// A new node that no lead can reach.
    fn inside(&mut self, name: String) -> Node;
}

/// The nodes while a file is read: zero volts first.
#[derive(Default)]
pub struct NodeTable {
    /// Names by node.
    pub names: Vec<String>,
    /// Nodes that a lead can reach, and zero volts, by name.
    pub by_name: HashMap<String, Node>,
}

impl Nodes for NodeTable {
    fn find(&self, name: &str) -> Result<Node, Problem> {
        self.by_name.get(name).copied().ok_or_else(|| Problem::UnknownName {
            what: "point",
            name: name.to_owned(),
            nearest: nearest(name, self.names.iter().map(String::as_str)),
        })
    }

    fn inside(&mut self, name: String) -> Node {
        self.names.push(name);
        self.names.len() - 1
    }
}

impl NodeTable {
    /// Adds a node that a lead can reach.
    pub fn add(&mut self, name: &str) -> Result<Node, Problem> {
        check_name(name)?;
        if self.by_name.contains_key(name) {
            return Err(Problem::Twice { what: "points", name: name.to_owned() });
        }
        let node = self.inside(name.to_owned());
        self.by_name.insert(name.to_owned(), node);
        Ok(node)
    }
}
