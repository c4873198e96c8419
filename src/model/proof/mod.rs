//! The results of running a procedure against every fault of a circuit.
pub mod case;
pub mod coverage;
pub mod kept;
pub mod margin;
pub mod meter_comparison;
pub mod slip;
pub mod whole;
