//! Sign-off, verification, packing and judging again, through the program and with OpenSSH's own tools.
mod agent;
mod bytes;
mod judged;
mod openssh;
mod packed;
mod refusals;
mod shop;
mod vehicle;
