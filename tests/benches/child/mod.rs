//! What a child process costs.
//!
//! In: a command. Out: its CPU seconds and its peak memory, as the system counts them for the process and
//! the children it waited for. The peak of [`run`] takes in what the parent held when it started the child: a bench that runs children stays small.

use std::process::Command;
use std::time::Duration;

use wait4::Wait4 as _;

/// Seconds and MB of one process, and what it ended with.
#[allow(dead_code, reason = "not every bench runs one to its end")]
#[derive(Clone, Copy, Debug)]
pub struct Cost {
    /// CPU time, of its own and of the system for it.
    pub cpu: f64,
    /// Peak of resident memory.
    pub peak: u64,
    /// Exit code; none where a signal ended it.
    pub code: Option<i32>,
}

/// Runs a command to its end.
#[allow(dead_code, reason = "not every bench runs one to its end")]
pub fn run(command: &mut Command) -> std::io::Result<Cost> {
    let used = command.spawn()?.wait4()?;
    let cpu = Duration::as_secs_f64(&used.rusage.utime) + Duration::as_secs_f64(&used.rusage.stime);
    let peak = used.rusage.maxrss / (1024 * 1024);
    Ok(Cost { cpu, peak, code: used.status.code() })
}

/// CPU seconds of a process that runs (Linux; in steps of a hundredth).
#[allow(dead_code, clippy::disallowed_methods, reason = "not every bench asks")]
pub fn cpu_of(process: u32) -> f64 {
    let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap_or_default();
    // The name stands in brackets and may hold anything; user and system time are the 12th and 13th word after it.
    let words = stat.rsplit_once(')').map_or("", |(_, rest)| rest);
    words.split_whitespace().skip(11).take(2).filter_map(|n| n.parse::<f64>().ok()).sum::<f64>() / 100.0
}
