//! The language: functions and operators that scripts have, in small groups.
pub mod actions;
pub mod answers;
pub mod arithmetic;
pub mod comparisons;
mod functions;
pub mod held;
pub mod limits;
pub mod lists;
pub mod prompts;
pub mod steps;
pub mod texts;
pub mod units;
