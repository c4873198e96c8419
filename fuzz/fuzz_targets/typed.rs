#![no_main]

#[path = "../../tests/fuzzed/targets.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| targets::of("typed")(bytes));
