//! The terminal: what is typed and what is shown.
mod asking;
mod blocks;
pub mod cautions;
mod change;
pub mod edited_line;
pub mod how;
pub mod input;
pub mod intake;
pub mod key;
mod menu;
pub mod output;
pub mod past;
pub mod person;
pub mod plain_word;
mod possible;
mod recorded;
pub mod takes;
#[cfg(unix)]
pub mod tty;
pub mod typed_line;
mod wait;
