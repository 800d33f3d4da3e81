//! One file, replaced whole.
//!
//! In: a path and its new bytes. Out: the file; whoever reads it meanwhile sees the old bytes or the new ones.

use std::fs;
use std::io::Write as _;
use std::path::Path;

/// Replaces a file's bytes, or makes the file. A link is followed; the file's permissions stay.
///
/// # Errors
/// One sentence that names the file.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub fn replace_file(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let fault = |error: std::io::Error| format!("cannot write `{}`: {error}", path.display());
    let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let name = path.file_name().ok_or_else(|| format!("`{}` is no file", path.display()))?;
    let beside = path.with_file_name(format!(".{}.ruleout-{}", name.to_string_lossy(), std::process::id()));
    let write = || {
        let mut file = fs::File::create(&beside)?;
        file.write_all(bytes)?;
        if let Ok(old) = fs::metadata(&path) {
            file.set_permissions(old.permissions())?;
        }
        file.sync_all()?;
        fs::rename(&beside, &path)
    };
    write().map_err(|error| {
        let _ = fs::remove_file(&beside);
        fault(error)
    })
}
