#![no_main]
//! Feeds libFuzzer's bytes to the target `amounts`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::amounts(data));
