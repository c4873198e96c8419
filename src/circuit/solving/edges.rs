//! How much room an element has before it leaves the piece in which it stands.

use super::element::{BLOWN, COLLAPSED, Drive, Element, OUTPUTS, SUPPLY_LOW, SUPPLY_OFF, Segment, stays_on};

/// A sum of node voltages, each by its factor.
pub type Row = [(usize, f64); 4];

impl Element {
    /// Hands out what decides on this element's piece: a sum of node voltages, and by how much it may change, at these node
    /// voltages, before another piece begins. Nothing of an element that has one piece only.
    pub fn edges(&self, state: u8, segments: &[Segment], volts: &[f64], mut each: impl FnMut(Row, f64)) {
        let at = |row: Row| row.iter().map(|(node, factor)| factor * volts[*node]).sum::<f64>();
        match *self {
            Self::Conductance { .. } | Self::Source { .. } => {}
            Self::Fuse { .. } if state == BLOWN => {}
            Self::Fuse { a, b, siemens, blows } => {
                let row = [(a, siemens), (b, -siemens), (a, 0.0), (a, 0.0)];
                each(row, blows - at(row).abs());
            }
            Self::Curve { a, b, first, .. } => {
                let segment = segments[first + usize::from(state)];
                let row = [(a, 1.0), (b, -1.0), (a, 0.0), (a, 0.0)];
                let across = at(row);
                each(row, (across - segment.low).min(segment.high - across));
            }
            Self::Contact { coil, pulls_in, drops_out, .. } => {
                let [(from, to, factor), (other_from, other_to, other)] = coil.windings;
                let pull = coil.at(volts);
                let row = [(from, factor), (to, -factor), (other_from, other), (other_to, -other)];
                each(row, if self.is_on(state) { pull - drops_out } else { pulls_in - pull });
            }
            Self::Share { .. } if state == COLLAPSED => {}
            Self::Share { supply, ground, output, share, minimum, drive, .. } => {
                let row = [(supply, 1.0), (ground, -1.0), (supply, 0.0), (supply, 0.0)];
                let on = self.is_on(state);
                each(row, if on { at(row) - stays_on(minimum) } else { minimum - at(row) });
                if on && drive != Drive::Both {
                    let above = [(supply, share), (ground, 1.0 - share), (output, -1.0), (output, 0.0)];
                    each(above, at(above).abs());
                }
            }
            Self::Regulator { input, output, ground, volts: set, siemens, limit, dropout } => {
                let supply = if input.is_some() { state / OUTPUTS } else { OUTPUTS };
                let from = input.unwrap_or(ground);
                let mut available = set;
                if input.is_some() {
                    let row = [(from, 1.0), (ground, -1.0), (from, 0.0), (from, 0.0)];
                    available = at(row) - dropout;
                    each(row, available.abs().min((available - set).abs()));
                }
                if supply == SUPPLY_OFF {
                    return;
                }
                let row = [(output, 1.0), (ground, -1.0), (output, 0.0), (output, 0.0)];
                let out = at(row);
                each(row, out.abs());
                let of_supply = if supply == SUPPLY_LOW { siemens } else { 0.0 };
                let of_output = if out > 0.0 { siemens } else { 0.0 };
                let amperes = siemens * (available.clamp(0.0, set) - out.max(0.0));
                let row = [(from, of_supply), (ground, of_output - of_supply), (output, -of_output), (output, 0.0)];
                each(row, amperes.abs().min((amperes - limit).abs()));
            }
        }
    }
}
