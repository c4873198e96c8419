//! Leads and a meter's function that don't belong together.

use super::meter::Function;
use super::points::Points;
use super::prompt::Leads;

/// Why a meter can't be read so.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Misfit {
    /// An ammeter is as good as a wire.
    #[error("an ammeter across `{red}` and `{black}` shorts the supply: it goes in line, never across")]
    AmmeterAcross {
        /// Where the red lead would go.
        red: String,
        /// Where the black lead would go.
        black: String,
    },
    /// A meter in line reads what goes through it.
    #[error("a meter in line at `{at}` reads amperes, not {function}")]
    InLine {
        /// Where the circuit would be opened.
        at: String,
        /// What it would be switched to.
        function: &'static str,
    },
    /// A clamp reads what goes through it.
    #[error("a clamp round `{at}` reads amperes, not {function}")]
    Clamp {
        /// The wire.
        at: String,
        /// What it would be switched to.
        function: &'static str,
    },
}

impl Misfit {
    /// The problem with leads that lie so, if there is one.
    ///
    /// ```
    /// use ohmwright::model::meter::Function;
    /// use ohmwright::model::misfit::Misfit;
    /// use ohmwright::model::points::Points;
    /// use ohmwright::model::prompt::Leads;
    /// let leads = Leads::Clamp { at: Points::end(None, "feed").unwrap() };
    /// assert!(Misfit::of(None, Function::Amperes, &leads).is_none());
    /// let misfit = Misfit::of(None, Function::Volts, &leads).unwrap();
    /// assert_eq!(misfit.to_string(), "a clamp round `feed` reads amperes, not volts");
    /// ```
    pub fn of(points: Option<&Points>, function: Function, leads: &Leads) -> Option<Self> {
        match leads {
            Leads::Across { red, black } => {
                let shorts = function == Function::Amperes && Points::shorts(points, &red.name, &black.name);
                shorts.then(|| Self::AmmeterAcross { red: red.name.to_string(), black: black.name.to_string() })
            }
            Leads::Through { at } => {
                Some(Self::InLine { at: at.name.to_string(), function: not_of_a_current(function)? })
            }
            Leads::Clamp { at } => Some(Self::Clamp { at: at.name.to_string(), function: not_of_a_current(function)? }),
            Leads::Nowhere => None,
        }
    }

    /// The advice.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::AmmeterAcross { .. } => {
                "put it in line, `through(\u{2026})`, or round the wire, `clamp(\u{2026})`; a current through a known \
                 resistor is read in volts"
            }
            Self::InLine { .. } | Self::Clamp { .. } => {
                "give limits in A, or say between which two points it is read: `across(\u{2026}, \u{2026})`"
            }
        }
    }
}

/// What can't be read of a current, in words; frequency and duty can.
const fn not_of_a_current(function: Function) -> Option<&'static str> {
    match function {
        Function::Volts => Some("volts"),
        Function::AcVolts => Some("AC volts"),
        Function::Ohms => Some("ohms"),
        Function::Diode => Some("a diode test"),
        Function::Temperature => Some("a temperature"),
        Function::Amperes | Function::Hertz | Function::Duty | Function::Time => None,
    }
}
