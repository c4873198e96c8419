//! The session: a procedure's questions, answered from the journal while that lasts and by somebody after.
pub mod again;
pub mod answerer;
pub mod ask;
pub mod bench;
pub mod chain;
pub mod damage;
pub mod doubt;
pub mod earlier;
pub mod journal;
pub mod meaning;
pub mod replay;
pub mod session;
pub mod sheet;
pub mod sheet_then_bench;
pub mod stop;
pub mod unattended;
pub mod watch;
mod way_back;
