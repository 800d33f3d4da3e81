#![no_main]
//! Feeds libFuzzer's bytes to the target `fix`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::fix::run(data));
