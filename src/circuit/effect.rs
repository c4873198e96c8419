//! The effects of faults, and the state in which the active ones leave a part.

use super::nodes::Node;

/// The effect of a fault. Resistances in ohms; parts by their number.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// No current any more, through the part or through one branch of it.
    Open {
        /// The part.
        part: usize,
        /// The branch; `None` for the whole.
        branch: Option<&'static str>,
    },
    /// A connection where there is none.
    Short {
        /// One point.
        from: Node,
        /// The other.
        to: Node,
        /// Through what.
        ohms: f64,
    },
    /// A connection inside a part, across one branch of it.
    Shorted {
        /// The part.
        part: usize,
        /// The branch.
        branch: &'static str,
    },
    /// Corrosion, a loose terminal.
    Added {
        /// The part.
        part: usize,
        /// How much.
        ohms: f64,
    },
    /// The value times `gain` plus `offset`.
    Drift {
        /// The part.
        part: usize,
        /// Factor.
        gain: f64,
        /// In the value's SI unit; of a sensor or a potentiometer a share of its supply.
        offset: f64,
    },
    /// Another value.
    Set {
        /// The part.
        part: usize,
        /// In its SI unit.
        value: f64,
    },
    /// It does not move any more.
    Stuck {
        /// The part.
        part: usize,
        /// Where.
        at: Stuck,
    },
    /// A part of the track has lost contact.
    Worn {
        /// The part.
        part: usize,
        /// From which position, in SI units.
        from: f64,
        /// To which.
        to: f64,
        /// Resistance there.
        ohms: f64,
    },
    /// Two terminals swapped in the connector.
    Swapped {
        /// One contact.
        one: usize,
        /// The other.
        other: usize,
    },
}

/// Where a part is stuck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stuck {
    /// Contacts apart, output off, motor not connected.
    Open,
    /// Contacts together, output on.
    Closed,
    /// A motor that does not turn.
    Stalled,
    /// A position, in SI units (of a choice its number).
    At(f64),
}

/// The state in which the active faults leave a part.
#[derive(Clone, Debug, Default)]
pub struct Altered {
    /// The whole part conducts nothing.
    pub open: bool,
    /// Branches that conduct nothing.
    pub open_branches: Vec<&'static str>,
    /// Branches that are shorted.
    pub shorted_branches: Vec<&'static str>,
    /// Resistance that was added, in ohms.
    pub added: f64,
    /// Factor of the value that has drifted; `None` if none has.
    pub gain: Option<f64>,
    /// What was added to the value that has drifted, in its SI unit.
    pub offset: f64,
    /// The value that was set, in its SI unit.
    pub set: Option<f64>,
    /// Where it is stuck.
    pub stuck: Option<Stuck>,
    /// Lost contact: from one position to another, in SI units, and the ohms there.
    pub worn: Vec<(f64, f64, f64)>,
    /// The node that its second end lies on instead.
    pub moved_end: Option<Node>,
}

impl Altered {
    /// Whether a branch conducts nothing.
    pub fn is_open(&self, branch: &str) -> bool {
        self.open_branches.contains(&branch)
    }

    /// Whether a branch is shorted.
    pub fn is_shorted(&self, branch: &str) -> bool {
        self.shorted_branches.contains(&branch)
    }

    /// Whether its contacts or its output are held together or on; `None` if they are free to move.
    pub fn held(&self) -> Option<bool> {
        self.stuck.map(|stuck| stuck == Stuck::Closed)
    }

    /// Ohms of the lost contact at a position in SI units; `None` where there is contact.
    pub fn worn_at(&self, travel: f64) -> Option<f64> {
        let here = self.worn.iter().filter(|(from, to, _)| (*from..=*to).contains(&travel));
        here.map(|(_, _, ohms)| *ohms).reduce(f64::max)
    }

    /// A value that may have drifted.
    pub fn drifted(&self, value: f64) -> f64 {
        value * self.gain.unwrap_or(1.0) + self.offset
    }
}
