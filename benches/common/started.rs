//! The first event of a run that a benchmark makes.

use ohmwright::model::event::{AnsweredBy, FORMAT, Started};
use ohmwright::model::job::Job;
use ohmwright::model::vehicle::VehicleState;

/// A run of the procedure `bench`, answered so, on this vehicle.
pub fn started(answered_by: AnsweredBy, vehicle: VehicleState) -> Started {
    Started {
        format: FORMAT,
        program: "bench".into(),
        procedure: "bench".into(),
        title: "bench".into(),
        revision: 1,
        part: None,
        sources: vec![],
        answered_by,
        bench: None,
        bench_faults: vec![],
        bench_seed: None,
        job: Job::default(),
        vehicle,
        link: None,
        row: None,
        clock_set_by_hand: true,
    }
}
