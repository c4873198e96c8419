//! What could still be wrong after some readings, and which reading would tell most. It never concludes for anybody.
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
