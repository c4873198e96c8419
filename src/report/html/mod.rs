//! Reports as one self-contained HTML page: no script, nothing fetched.
pub mod cautions;
pub mod comparison;
pub mod customer;
pub mod customer_words;
pub mod foundation;
pub mod frame;
pub mod full;
pub mod readings;
pub mod result;
pub mod scales;
mod style;
