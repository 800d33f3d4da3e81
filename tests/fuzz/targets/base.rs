#![no_main]
//! Feeds libFuzzer's bytes to the target `base`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::base(data));
