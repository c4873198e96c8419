//! A direct-current motor: its winding alone until the current moves the load, then the load's current.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::{Altered, Stuck};
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::alternating::Alternating;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["motor"], ends: ENDS, read };

#[derive(Debug)]
struct Motor {
    from: Node,
    to: Node,
    /// Winding resistance, in ohms.
    winding: Spread,
    /// Current that its load takes while it turns, in amperes.
    load: Spread,
    /// Rise of current above that, in siemens.
    slope: f64,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let winding = keys.section.spread_needed("winding", Kind::RESISTANCE, 0.05)?;
    Ok(Arc::new(Motor {
        from: keys.end("from")?,
        to: keys.end("to")?,
        load: keys.section.spread_needed("load", Kind::CURRENT, 0.1)?,
        // A fortieth of the slope while it stands still: bearings and brushes. No source, small by choice.
        slope: 1.0 / (winding.nominal * 40.0),
        winding,
    }))
}

impl PartKind for Motor {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let winding = network.value(self.winding, altered) + altered.added;
        if altered.stuck == Some(Stuck::Stalled) {
            return network.resistance(self.from, self.to, winding);
        }
        let load = network.drawn(self.load);
        let stall = load * winding;
        let far = (stall * 2.0, load + self.slope * stall);
        network.curve(self.from, self.to, &[(-far.0, -far.1), (-stall, -load), (stall, load), far]);
        // It turns as fast at the peak as in the trough, so that its winding is all that is in the way.
        network.alternating(|element| Alternating::Slow { element, siemens: Some(1.0 / winding) });
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            stuck: &[("stalled", Stuck::Stalled)],
            ..PartFaults::of_value("the winding's resistance", self.winding, Kind::RESISTANCE).in_line()
        }
    }
}
