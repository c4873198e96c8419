//! The session: a procedure's questions, answered from the journal while that lasts and by somebody after.
mod acknowledge;
mod acting;
pub mod answered_ways;
pub mod answerer;
pub mod ask;
pub mod asked_about;
mod at_vehicle;
pub mod behavior;
pub mod bench;
pub mod carried_answers;
pub mod caution_monitor;
pub mod doubt;
mod end;
mod events;
pub mod journal;
mod known;
pub mod meaning;
pub mod notice;
pub mod prepared_answers;
pub mod prepared_then_bench;
pub mod public_key;
mod put;
pub mod recorded_run;
pub mod replay;
pub mod reply;
pub mod request;
pub mod screens;
pub mod session;
pub mod signature;
mod sitting;
pub mod slipping;
pub mod stop;
pub mod unattended;
pub mod view;

#[cfg(test)]
mod fakes;
#[cfg(test)]
mod forwarding;
