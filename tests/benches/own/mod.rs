//! What this process has used so far.
//!
//! In: nothing. Out: CPU seconds, and peak memory in MB.

use rustix::time::{ClockId, clock_gettime};

/// CPU seconds of all threads.
pub fn cpu() -> f64 {
    let now = clock_gettime(ClockId::ProcessCPUTime);
    now.tv_sec as f64 + now.tv_nsec as f64 / 1e9
}

/// Peak memory in MB (Linux).
#[allow(clippy::disallowed_methods, reason = "of this process, not of a knowledge base")]
pub fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|n| n.parse::<u64>().ok()).unwrap_or(0) / 1024
}
