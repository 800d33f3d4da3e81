#![no_main]
//! Feeds libFuzzer's bytes to the target `compare`.

libfuzzer_sys::fuzz_target!(init: alone(), |data: &[u8]| ruleout_fuzz::compare::run(data));

/// All work is done by the thread that is fuzzed: nothing is handed over, and every run is the same.
fn alone() {
    rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build_global().expect("the first pool");
}
