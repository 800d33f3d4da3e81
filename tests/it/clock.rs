//! The time that a test itself has worked: other programs of a busy machine don't count.

use std::time::Duration;

/// CPU time of this thread so far.
pub fn worked() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::from_secs(time.tv_sec.unsigned_abs()) + Duration::from_nanos(time.tv_nsec.unsigned_abs())
}
