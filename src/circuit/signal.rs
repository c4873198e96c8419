//! The value that a control module reports of a voltage that it measures.

use super::curve::interpolate;
use super::decode::{Kind, Section, check_name, pairs, text_of};
use super::error::{Flaw, Problem};
use super::nodes::{Node, Nodes};
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;

/// A signal that the module shows on a scan tool or a dashboard.
#[derive(Clone, Debug)]
pub struct Signal {
    /// Its name.
    pub id: String,
    /// In words.
    pub what: String,
    /// Unit in which the module shows it.
    pub unit: Unit,
    pub(super) point: Node,
    pub(super) ground: Node,
    transfer: Vec<(f64, f64)>,
    powered: Option<(Node, Node, f64)>,
}

impl Signal {
    pub(super) fn decode(section: &Section, nodes: &dyn Nodes) -> Result<Self, Flaw> {
        let id = section.name("id")?.to_owned();
        check_name(&id)?;
        Self::read(section, nodes, id.clone()).map_err(|flaw| flaw.at(section.span()).of(|| format!("signal `{id}`")))
    }

    fn read(section: &Section, nodes: &dyn Nodes, id: String) -> Result<Self, Flaw> {
        let node = |key: &'static str| -> Result<Node, Flaw> {
            let item = section.item(key).ok_or_else(|| section.missing(key))?;
            nodes.find(text_of(key, item)?).map_err(|problem| Flaw::new(problem).at(item.span()))
        };
        let unit: Unit = section.name("unit")?.parse().map_err(|_| section.not_a("unit", "a unit such as `pct`"))?;
        let what = section.text("what")?.unwrap_or(&id).to_owned();
        let (point, ground) = (node("point")?, node("ground")?);
        let transfer = pairs(section, "transfer", Kind::VOLTAGE, Kind::of(unit.dimension()))?;
        let powered = match section.text("powered_at")? {
            None => None,
            Some(_) => Some((
                node("powered_at")?,
                ground,
                section.quantity("at_least", Kind::POSITIVE_VOLTAGE)?.ok_or(Problem::Missing { key: "at_least" })?,
            )),
        };
        section.finish()?;
        Ok(Self { id, what, unit, point, ground, transfer, powered })
    }

    /// What the module shows, given each node's voltage; nothing if it has no supply. Beyond the ends of its transfer it
    /// shows the end's value.
    pub(super) fn shown(&self, volts: impl Fn(Node) -> f64) -> Option<Quantity> {
        if let Some((supply, ground, at_least)) = self.powered
            && volts(supply) - volts(ground) < at_least
        {
            return None;
        }
        let value = interpolate(&self.transfer, volts(self.point) - volts(self.ground));
        Some(Quantity::new(value, self.unit.dimension()))
    }
}
