//! A simulated circuit in place of the vehicle: which, with what put into it, and how that vehicle stands.

use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::fault::FaultId;
use crate::circuit::meter::bench_meter;
use crate::circuit::netlist::Circuit;
use crate::circuit::population::draws;
use crate::circuit::sample::Sample;
use crate::model::started::{self, Hidden, PlacedFault, Started};
use crate::model::vehicle::{Battery, Engine, HighVoltage, Key, Lift, VehicleState, Wheels};
use crate::shop::circuits::placed;
use std::sync::Arc;

/// A simulated circuit with what was put into it.
#[derive(Clone, PartialEq)]
pub struct Simulated {
    /// Its name.
    pub circuit: String,
    /// Its faults, each as bad as it was drawn.
    pub faults: Vec<PlacedFault>,
    /// Which vehicle of many.
    pub seed: u64,
}

impl Simulated {
    /// A circuit with these faults in it. One whose severity is a range and not given is as bad as this vehicle draws it,
    /// so that it shows where any of its draws does.
    pub fn new(name: String, circuit: &Arc<Circuit>, faults: Vec<PlacedFault>, seed: u64) -> Self {
        let drawn = |placed: PlacedFault| {
            let fault = circuit.fault(&FaultId::from(placed.id.as_str())).ok();
            let range = fault.and_then(|fault| Some((fault, fault.severity?)));
            match (placed.severity, range) {
                (None, Some((fault, range))) => {
                    let severity = draws(circuit, fault, (1, 1), seed, &bench_meter())
                        .ok()
                        .and_then(|draws| draws.last()?.severity)
                        .or_else(|| fault.drawn_alone(seed));
                    // As many digits as a person reads; a record gives them back to the last one.
                    let short = severity.and_then(|severity| format!("{severity:.3e}").parse::<f64>().ok());
                    PlacedFault { severity: short.map(|short| short.clamp(range.low, range.high)), ..placed }
                }
                _ => placed,
            }
        };
        Self { circuit: name, faults: faults.into_iter().map(drawn).collect(), seed }
    }

    /// The simulated circuit that a record was made on.
    pub fn of(started: &Started) -> Option<Self> {
        let simulated = started.simulated.as_ref()?;
        let Hidden::Open { faults, seed, .. } = &simulated.hidden else { return None };
        let seed = seed.unwrap_or_default();
        Some(Self { circuit: simulated.circuit.clone(), faults: faults.clone(), seed })
    }

    /// Written into the start of a run.
    pub fn put_into(self, started: &mut Started) {
        let hidden = Hidden::Open { faults: self.faults, seed: Some(self.seed), vehicle: None, of: None };
        started.simulated = Some(started::Simulated { circuit: self.circuit, hidden });
    }

    /// The circuit with this in it, measured with a meter of its own.
    pub fn bench(&self, circuit: Arc<Circuit>) -> Result<Bench, SolveError> {
        let faults = placed(&circuit, &self.faults)?;
        Bench::with(circuit, faults, Sample::of_seed(self.seed), bench_meter())
    }
}

/// What stands for the vehicle's name where nobody gives one.
pub fn vehicle_name(circuit: &Circuit) -> String {
    format!("simulated: {}", circuit.title)
}

/// How the simulated vehicle stands: as was said of it, else as its circuit says; and what neither says: on the lift,
/// chocked, driven in a while ago, without high voltage.
pub fn vehicle(circuit: &Circuit, said: VehicleState, minute: i64) -> VehicleState {
    fn known<T: PartialEq>(said: T, unknown: T, else_so: T) -> T {
        if said == unknown { else_so } else { said }
    }
    let start = circuit.start().clone();
    let mut vehicle = VehicleState {
        key: known(said.key, Key::Unknown, start.key),
        engine: known(said.engine, Engine::Unknown, start.engine),
        lift: known(known(said.lift, Lift::Unknown, start.lift), Lift::Unknown, Lift::Raised),
        wheels: known(known(said.wheels, Wheels::Unknown, start.wheels), Wheels::Unknown, Wheels::Chocked),
        battery: known(said.battery, Battery::Unknown, start.battery),
        high_voltage: known(
            known(said.high_voltage, HighVoltage::Unknown, start.high_voltage),
            HighVoltage::Unknown,
            HighVoltage::Absent,
        ),
        ..start
    };
    vehicle.engine_stopped_at = said.engine_stopped_at.or(vehicle.engine_stopped_at).or(Some(minute - 20));
    vehicle.unplugged.extend(said.unplugged);
    vehicle.removed.extend(said.removed);
    vehicle.positions.extend(said.positions);
    vehicle.jumpers.extend(said.jumpers);
    vehicle
}
