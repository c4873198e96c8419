//! Key files, the agent, and which key signs.
pub mod agent;
pub mod key_file;
pub mod signing_key;
