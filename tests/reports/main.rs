//! Reports, through the program: pages, data, and what a browser and an accessibility checker say of them.
#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests make files, read them back and may stop at once"
)]

mod browser;
mod customer;
mod data;
mod pages;
mod signed;
mod workshop;
