//! Two folders change places.
//!
//! In: the finished folder and the name it is to have. Out: the new one under that name, and the old one under the other.
//! Linux does it in one step (`renameat2` with `RENAME_EXCHANGE`); elsewhere two renames leave a moment without the
//! folder, which the next run mends.

use std::fs;
use std::io;
use std::path::Path;

/// Puts `new` in the place of `out`. Afterwards the old folder, if there was one, stands at `new` or at `old`.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub fn exchange(new: &Path, out: &Path, old: &Path) -> io::Result<()> {
    if !out.exists() {
        return fs::rename(new, out);
    }
    match in_one_step(new, out) {
        Ok(true) => Ok(()),
        Ok(false) => in_two_steps(new, out, old),
        Err(error) => Err(error),
    }
}

/// Whether the system could do it.
#[cfg(any(target_os = "linux", target_os = "android"))]
fn in_one_step(new: &Path, out: &Path) -> io::Result<bool> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    use rustix::io::Errno;
    match renameat_with(CWD, new, CWD, out, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(true),
        // The system or the file system does not know it.
        Err(Errno::NOSYS | Errno::INVAL | Errno::NOTSUP) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

#[cfg(not(any(target_os = "linux", target_os = "android")))]
fn in_one_step(_: &Path, _: &Path) -> io::Result<bool> {
    Ok(false)
}

#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub(super) fn in_two_steps(new: &Path, out: &Path, old: &Path) -> io::Result<()> {
    fs::rename(out, old)?;
    fs::rename(new, out).inspect_err(|_| {
        // Put the old one back rather than leave nothing.
        let _ = fs::rename(old, out);
    })
}
