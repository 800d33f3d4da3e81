#![no_main]
//! Feeds libFuzzer's bytes to the target `compare`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::compare::run(data));
