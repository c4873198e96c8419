//! Sign-off, verification, packing and judging again, through the program and with OpenSSH's own tools.
#![expect(clippy::disallowed_methods, reason = "tests write and read the files that the program works on")]
#![expect(clippy::unwrap_used, reason = "a test ends where something is not as it should be")]

mod agent;
mod bytes;
mod device;
mod first_line;
mod judged;
mod kinds;
mod openssh;
mod other_agents;
mod own_list;
mod packed;
mod refusals;
mod shop;
mod shown;
mod vehicle;
