//! What could still be wrong: the truth is never lost, and nothing is excluded that the readings do not exclude.

mod table;
mod vehicles;
