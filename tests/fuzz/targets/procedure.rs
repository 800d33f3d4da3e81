#![no_main]
//! Feeds libFuzzer's bytes to the target `procedure`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::procedure(data));
