#![no_main]
//! Feeds libFuzzer's bytes to the target `lsp`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| ruleout_fuzz::lsp::run(data));
