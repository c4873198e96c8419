//! Records that older versions of the program wrote come out the same, whatever changes in the journal's format.
#![cfg(unix)]
#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests write files, read them back, and unwrap what they have just made"
)]

mod complete;
mod judged;
mod kept;
mod shown;
mod signed;
mod taken_up;
mod verified;
