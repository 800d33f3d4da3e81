//! New files, none of which was there before.
//!
//! In: a folder, and paths with bytes. Out: the files, or none of them. Nothing is ever overwritten.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::beside;

/// Makes files below a folder, and the folders that they need. After a failure those made so far are taken away again.
///
/// # Errors
/// One sentence that names the file; also where a file of that name is there already.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub fn new_files(root: &Path, files: &[(&str, &str)]) -> Result<(), String> {
    let mut made: Vec<PathBuf> = Vec::new();
    for (path, text) in files {
        let full = root.join(path);
        if let Err(error) = one(&full, text.as_bytes(), &mut made) {
            for path in made.iter().rev() {
                let _ = if path.is_dir() { fs::remove_dir(path) } else { fs::remove_file(path) };
            }
            let why = match error.kind() {
                io::ErrorKind::AlreadyExists => "it is there already, and nothing is overwritten".to_owned(),
                io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                    "you have no permission to write there".to_owned()
                }
                io::ErrorKind::StorageFull => "the disk is full".to_owned(),
                io::ErrorKind::NotADirectory => "a file stands where a folder is needed".to_owned(),
                _ => error.to_string(),
            };
            return Err(format!("cannot write `{}`: {why}", full.display()));
        }
    }
    Ok(())
}

/// Makes a folder, and those above it; one that is there already stays as it is.
///
/// # Errors
/// One sentence that names it.
#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
pub fn folder(path: &Path) -> Result<(), String> {
    fs::create_dir_all(path).map_err(|error| format!("cannot make the folder `{}`: {error}", path.display()))
}

/// Whether a folder can take new files without mixing with what others put there: it is not there, or holds dot-files only.
///
/// # Errors
/// One sentence: it is a file, holds something, or cannot be read.
#[allow(clippy::disallowed_methods, reason = "emit looks at where it writes")]
pub fn is_free(folder: &Path) -> Result<(), String> {
    let shown = folder.display();
    match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::NotADirectory => Err(format!("`{shown}` is a file, not a folder")),
        Err(error) => Err(format!("the folder `{shown}` cannot be read: {error}")),
        Ok(entries) => {
            let mut names: Vec<String> =
                entries.filter_map(Result::ok).map(|e| e.file_name().to_string_lossy().into_owned()).collect();
            names.sort();
            match names.iter().find(|name| !name.starts_with('.')) {
                None => Ok(()),
                Some(name) => Err(format!("`{shown}` holds `{name}` already: give a new or an empty folder")),
            }
        }
    }
}

#[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
fn one(path: &Path, bytes: &[u8], made: &mut Vec<PathBuf>) -> io::Result<()> {
    let missing: Vec<&Path> =
        path.ancestors().skip(1).take_while(|a| !a.as_os_str().is_empty() && !a.exists()).collect();
    for folder in missing.into_iter().rev() {
        fs::create_dir(folder)?;
        made.push(folder.to_owned());
    }
    let whole = beside::write(path, bytes, None)?;
    // Another name for the whole file, which is refused where the name is taken; not every file system has it.
    let linked = fs::hard_link(&whole, path);
    drop(beside::remove(&whole));
    match linked {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
            let mut file = fs::File::create_new(path)?;
            made.push(path.to_owned());
            file.write_all(bytes)?;
            file.sync_all()
        }
        linked => linked.map(|()| made.push(path.to_owned())),
    }
}
