//! The script language: the only folder that names its engine.
pub mod helpers;
