//! The faults that are still possible after some readings, and the reading that would tell most. It never concludes.
pub mod candidate;
pub mod contradiction;
pub mod held;
pub mod hull;
pub mod next;
pub mod possible;
pub mod proposal;
pub mod reading;
pub mod rival;
pub mod table;
pub mod taken;
