//! Where a lead can go.

use super::gauge::Gauge;
use super::nodes::Node;

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
    /// Colour of the wire that ends here.
    pub colour: Option<String>,
    /// Size of the wire that ends here.
    pub gauge: Option<Gauge>,
    /// Where it is on the vehicle.
    pub place: String,
    /// Minutes that it takes to get at it.
    pub minutes: f64,
    pub(super) node: Node,
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
    /// Its pins.
    pub pins: Vec<String>,
}
