//! The terminal: what is typed and what is shown.
pub mod cautions;
mod change;
pub mod input;
pub mod intake;
pub mod output;
pub mod person;
pub mod plain_word;
mod recorded;
pub mod typed_line;
mod wait;
