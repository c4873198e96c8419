//! The first event of a run that a benchmark makes.

use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::started::Started;
use ohmwright::model::vehicle::VehicleState;

/// A run of the procedure `bench`, answered so, on this vehicle.
pub fn started(answered_by: AnsweredBy, vehicle: VehicleState) -> Started {
    Started { vehicle, clock_set_by_hand: true, ..Started::of("bench", "bench", 1, answered_by) }
}
