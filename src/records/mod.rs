//! Records on disk: how a journal's lines are read, and what its signatures say.
pub mod chain;
pub mod damage;
pub mod format1;
pub mod line;
