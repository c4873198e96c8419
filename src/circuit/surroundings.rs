//! What a fault, and what says when it shows, may refer to while a circuit file is read.

use super::look::Look;
use super::movement::Movement;
use super::nodes::{Node, Nodes};
use super::parts::part::Part;
use super::signal::Signal;
use crate::model::vehicle::VehicleState;

/// What is known of the circuit by then.
pub(super) struct Surroundings<'a> {
    pub nodes: &'a dyn Nodes,
    pub parts: &'a [Part],
    pub movements: &'a [Movement],
    pub insulation: f64,
    pub signals: &'a [Signal],
    pub looks: &'a [Look],
    pub start: &'a VehicleState,
    /// Roles and the nodes of the points that play them.
    pub roles: &'a [(String, Node)],
    /// Whether the circuit has causes of its own, so that a fault need not list any.
    pub has_causes: bool,
}
