//! What processes have used so far.
//!
//! In: nothing, or a process. Out: CPU seconds of this one; peak memory in MB.

use rustix::time::{ClockId, clock_gettime};

/// CPU seconds of all threads of this process.
#[allow(dead_code, reason = "not every bench asks")]
pub fn cpu() -> f64 {
    let now = clock_gettime(ClockId::ProcessCPUTime);
    now.tv_sec as f64 + now.tv_nsec as f64 / 1e9
}

/// Peak memory of a process that runs, in MB (Linux).
#[allow(dead_code, clippy::disallowed_methods, reason = "not every bench asks")]
pub fn peak_of(process: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|n| n.parse::<u64>().ok()).unwrap_or(0) / 1024
}
