//! Single files, replaced whole.
//!
//! In: paths and their new bytes. Out: the files; whoever reads one meanwhile sees the old bytes or the new ones. Of several
//! files none is changed before all of the new bytes stand safely beside the old ones.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::beside;

/// Replaces a file's bytes, or makes the file. A link is followed; the file's permissions stay.
///
/// # Errors
/// One sentence that names the file.
pub fn replace_file(path: &Path, bytes: &[u8]) -> Result<(), String> {
    replace_files(&[(path.to_owned(), bytes.to_vec())])
}

/// Replaces several files.
///
/// # Errors
/// One sentence that names the file that can't be written; nothing was changed then.
pub fn replace_files(files: &[(PathBuf, Vec<u8>)]) -> Result<(), String> {
    let fault = |path: &Path, why: String| format!("cannot write `{}`: {why}", path.display());
    let mut ready: Vec<(PathBuf, PathBuf, &Path)> = Vec::new();
    let folders: BTreeSet<&Path> = files.iter().filter_map(|(path, _)| path.parent()).collect();
    for folder in folders {
        beside::clear(if folder.as_os_str().is_empty() { Path::new(".") } else { folder });
    }
    let written = files.iter().try_for_each(|(path, bytes)| {
        let (new, target) = ready_beside(path, bytes).map_err(|why| fault(path, why))?;
        ready.push((new, target, path));
        Ok(())
    });
    let moved = written.and_then(|()| {
        ready.iter().try_for_each(|(new, target, path)| rename(new, target).map_err(|why| fault(path, why)))
    });
    if moved.is_err() {
        for (new, ..) in &ready {
            drop(beside::remove(new));
        }
    }
    moved
}

/// The new bytes in a hidden file beside the old one: its path, and the path that it is for.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
fn ready_beside(path: &Path, bytes: &[u8]) -> Result<(PathBuf, PathBuf), String> {
    let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    path.file_name().ok_or("it is no file")?;
    let old = fs::metadata(&path).ok();
    match &old {
        Some(about) if about.is_dir() => return Err("it is a folder".into()),
        // A device or a pipe would be replaced by a file.
        Some(about) if !about.is_file() => return Err("it is no plain file".into()),
        _ => {}
    }
    if old.as_ref().is_some_and(|o| o.permissions().readonly()) {
        return Err("the file is read-only".into());
    }
    let new = beside::write(&path, bytes, old.map(|old| old.permissions())).map_err(|e| reason(&e))?;
    Ok((new, path))
}

#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
fn rename(from: &Path, to: &Path) -> Result<(), String> {
    fs::rename(from, to).map_err(|e| reason(&e))
}

/// Why, in words.
fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => "you have no permission to write there",
        io::ErrorKind::NotFound => "its folder is not there",
        io::ErrorKind::StorageFull => "the disk is full",
        io::ErrorKind::IsADirectory => "it is a folder",
        _ => return error.to_string(),
    }
    .into()
}
