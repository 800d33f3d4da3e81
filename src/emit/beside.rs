//! Hidden files beside those that they are to become.
//!
//! In: a folder and bytes. Out: a file that holds them all, safe on disk, under a name that no reader of the folder looks at. What a
//! program that died left of its own is cleared away by the next one.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

const NAME: &str = ".ruleout-";

/// Writes the bytes beside the file `path`, or nothing.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub fn write(path: &Path, bytes: &[u8], permissions: Option<fs::Permissions>) -> io::Result<PathBuf> {
    static COUNT: AtomicUsize = AtomicUsize::new(0);
    let number = COUNT.fetch_add(1, Ordering::Relaxed);
    // Not the file's own name with something behind it: that may be as long as a name can be.
    let new = path.with_file_name(format!("{NAME}{}-{number}", std::process::id()));
    // A name that is there already is never written through: it could be a link to another place.
    let mut file = fs::File::create_new(&new)?;
    let fill = || {
        file.write_all(bytes)?;
        if let Some(permissions) = permissions {
            file.set_permissions(permissions)?;
        }
        file.sync_all()
    };
    fill().inspect_err(|_| drop(remove(&new)))?;
    Ok(new)
}

/// Takes away what a program that was ended in the middle left in a folder. Whether it still runs is told by Linux; elsewhere all stays.
#[allow(clippy::disallowed_methods, reason = "emit clears away what it wrote")]
pub fn clear(folder: &Path) {
    let runs = |process: u32| !Path::new("/proc/self").exists() || Path::new(&format!("/proc/{process}")).exists();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let process = name.strip_prefix(NAME).and_then(|rest| rest.split_once('-')).and_then(|(id, _)| id.parse().ok());
        if process.is_some_and(|process| !runs(process)) {
            drop(remove(&entry.path()));
        }
    }
}

/// Takes one away.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub fn remove(path: &Path) -> io::Result<()> {
    fs::remove_file(path)
}
