//! Pure text from a record or a diagnostic.
pub mod action;
pub mod bar;
pub mod comparison;
pub mod csv;
pub mod detours;
pub mod diagnostic;
pub mod drawing;
pub mod entry;
pub mod html;
pub mod json;
mod json_answer;
pub mod material;
pub mod measured;
pub mod plot;
pub mod proof;
pub mod record;
pub mod table;
pub mod withhold;
