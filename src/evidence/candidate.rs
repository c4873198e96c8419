//! A reading that could be taken in some state of the vehicle, and what one vehicle shows there.

use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::meter::{Reading, Shown};
use crate::circuit::netlist::Circuit;
use crate::circuit::nodes::Node;
use crate::circuit::readout::Readout;
use crate::model::meter::{Function, Meter};
use crate::model::prompt::{Leads, Question};

/// A reading, and its place. The names are those of points, roles, parts and signals of the circuit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Candidate {
    /// Red and black on two points.
    Across {
        /// The meter's function.
        function: Function,
        /// Red lead.
        red: String,
        /// Black lead.
        black: String,
    },
    /// Amperes with the meter in line.
    InLine {
        /// Where the circuit is opened.
        at: String,
    },
    /// Amperes with a clamp round a wire.
    Clamp {
        /// Which.
        at: String,
    },
    /// What the module shows of a signal.
    Module {
        /// Which.
        signal: String,
    },
}

/// The same with its names looked up.
#[derive(Clone, Debug)]
pub(super) enum Found {
    Volts(Node, Node),
    Ohms(Node, Node),
    Module(usize),
    /// It is asked of the bench.
    Other,
}

impl Candidate {
    /// What a question asks for; `None` where nothing on a circuit answers it.
    pub fn of(question: &Question) -> Option<Self> {
        if let Question::ModuleValue { signal, .. } = question {
            return Some(Self::Module { signal: signal.clone() });
        }
        Some(match (question.function()?, question.leads()?) {
            (Function::Temperature | Function::Time, _) => return None,
            (function, Leads::Across { red, black }) => {
                Self::Across { function, red: red.name.to_string(), black: black.name.to_string() }
            }
            (Function::Amperes, Leads::Through { at }) => Self::InLine { at: at.name.to_string() },
            (Function::Amperes, Leads::Clamp { at }) => Self::Clamp { at: at.name.to_string() },
            _ => return None,
        })
    }

    /// The meter's function; `None` where a module shows it.
    pub const fn function(&self) -> Option<Function> {
        match self {
            Self::Across { function, .. } => Some(*function),
            Self::InLine { .. } | Self::Clamp { .. } => Some(Function::Amperes),
            Self::Module { .. } => None,
        }
    }

    /// Whether the meter takes part in the circuit, so that what it reads may change what is remembered.
    pub fn loads(&self) -> bool {
        !matches!(self, Self::Module { .. } | Self::Across { function: Function::Volts | Function::AcVolts, .. })
    }

    /// Looks its names up.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub(super) fn find(&self, circuit: &Circuit) -> Result<Found, SolveError> {
        Ok(match self {
            Self::Across { function, red, black } => {
                let (from, to) = (circuit.point(red)?.node(), circuit.point(black)?.node());
                match function {
                    Function::Volts => Found::Volts(from, to),
                    Function::Ohms => Found::Ohms(from, to),
                    _ => Found::Other,
                }
            }
            Self::Module { signal } => {
                let known = circuit.signal(signal)?;
                let number = circuit.signals().iter().position(|other| other.id == known.id);
                Found::Module(number.unwrap_or_default())
            }
            Self::InLine { .. } | Self::Clamp { .. } => Found::Other,
        })
    }

    /// Lowest and highest of what is read on the vehicle that the bench stands for; `None` where nothing is shown. It asks the
    /// solution, and the bench only where that does not tell.
    ///
    /// # Errors
    /// What the circuit can't be asked.
    pub(super) fn read(
        &self,
        found: &Found,
        bench: &mut Bench,
        readout: Option<&Readout>,
        meter: &Meter,
    ) -> Result<Option<(f64, f64)>, SolveError> {
        let twice = |value| Some((value, value));
        if let Some(readout) = readout {
            let ohms = meter.input_resistance.si().max(1.0);
            match found {
                Found::Volts(from, to) => {
                    if let Some(volts) = readout.volts(*from, *to, ohms) {
                        return Ok(twice(volts));
                    }
                }
                Found::Ohms(from, to) => {
                    if let Some(ohms) = readout.ohms(*from, *to) {
                        return Ok(twice(ohms));
                    }
                }
                Found::Module(signal) => {
                    let shown = readout.signal(bench.circuit(), *signal);
                    return Ok(shown.and_then(|value| twice(value.si())));
                }
                Found::Other => {}
            }
        }
        let before = bench.memory().clone();
        let read = self.ask(bench);
        bench.remember(before)?;
        read
    }

    /// Asks the bench, which remembers what the reading does to it.
    pub(super) fn ask(&self, bench: &mut Bench) -> Result<Option<(f64, f64)>, SolveError> {
        let reading = match self {
            Self::Across { function, red, black } => match function {
                Function::Volts => bench.volts(red, black)?,
                Function::AcVolts => bench.ac_volts(red, black)?,
                Function::Ohms => bench.ohms(red, black)?,
                Function::Diode => bench.diode(red, black)?,
                Function::Amperes => bench.amperes(red, black)?,
                Function::Duty => bench.duty(red, black)?,
                Function::Hertz => bench.hertz(red, black)?,
                Function::Temperature | Function::Time => return Ok(None),
            },
            Self::InLine { at } => bench.amperes_in_line(at)?,
            Self::Clamp { at } => bench.amperes_through(at)?,
            Self::Module { signal } => {
                return Ok(match bench.module_shows(signal)? {
                    Shown::Value(value) => Some((value.si(), value.si())),
                    Shown::Unsteady { lowest, highest } => Some((lowest.si(), highest.si())),
                    Shown::OverRange | Shown::Nothing => None,
                });
            }
        };
        Ok(ends_of(&reading))
    }
}

fn ends_of(reading: &Reading) -> Option<(f64, f64)> {
    match reading.shown {
        Shown::Nothing => None,
        Shown::Unsteady { lowest, highest } => Some((lowest.si().min(reading.exact), highest.si().max(reading.exact))),
        Shown::Value(_) | Shown::OverRange if reading.exact.is_nan() => Some((f64::NEG_INFINITY, f64::INFINITY)),
        Shown::Value(_) | Shown::OverRange => Some((reading.exact, reading.exact)),
    }
}
