//! One file a command.
pub mod batch;
pub mod circuit;
pub mod how;
pub mod key;
pub mod list;
pub mod pack;
pub mod prove;
mod prove_progress;
pub mod rejudge;
pub mod repl;
pub mod report;
pub mod resume;
pub mod run;
pub mod show;
pub mod sign;
pub mod standing;
pub mod verify;
