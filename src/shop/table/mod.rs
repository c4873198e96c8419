//! A table of vehicles: its columns, its rows, what came of each.
pub mod columns;
pub mod lines;
pub mod row;
pub mod row_bench;
pub mod row_result;
pub mod text;
