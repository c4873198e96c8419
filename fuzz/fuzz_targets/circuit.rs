#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| ohmwright_fuzz::targets::of("circuit")(bytes));
