#![no_main]
//! Feeds libFuzzer's bytes to the target `phrases`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::phrases(data));
