//! Files of the base, written anew by a command.
//!
//! In: their paths, what was read of them, and what they are to hold. Out: all of them changed, or none: where one is no longer what was
//! read, somebody else is at work on it.

use std::path::Path;

use crate::emit;
use crate::load::{Disk, Files as _};

/// A file and its two texts.
pub struct Rewritten {
    /// Relative to the base.
    pub path: String,
    /// What was read.
    pub old: Vec<u8>,
    /// What it is to hold.
    pub new: Vec<u8>,
}

/// Writes them.
///
/// # Errors
/// One sentence that names the file that changed meanwhile, or can't be written; nothing was changed then.
pub fn write(base: &Path, files: Vec<Rewritten>) -> Result<(), String> {
    let disk = Disk::new(base);
    for file in &files {
        let now = disk.read(&file.path).map_err(|why| format!("cannot write `{}`: {}", file.path, why.message))?;
        if now != file.old {
            return Err(format!("`{}` changed while it was being worked on: run it again", file.path));
        }
    }
    let files: Vec<_> = files.into_iter().map(|file| (base.join(file.path), file.new)).collect();
    emit::replace_files(&files)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::disallowed_methods, reason = "a test stops where it must")]
    use super::*;

    #[test]
    fn what_changed_meanwhile_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let new = |path: &str| Rewritten { path: path.to_owned(), old: b"old".to_vec(), new: b"new".to_vec() };
        for (second, told) in [(Some("edited"), "changed while"), (None, "it is gone")] {
            std::fs::write(folder.path().join("a.md"), "old").unwrap();
            match second {
                Some(text) => std::fs::write(folder.path().join("b.md"), text).unwrap(),
                None => std::fs::remove_file(folder.path().join("b.md")).unwrap(),
            }
            let why = write(folder.path(), vec![new("a.md"), new("b.md")]).unwrap_err();
            assert!(why.contains("`b.md`") && why.contains(told), "{why}");
            assert_eq!(std::fs::read(folder.path().join("a.md")).unwrap(), b"old");
        }
        write(folder.path(), vec![new("a.md")]).unwrap();
        assert_eq!(std::fs::read(folder.path().join("a.md")).unwrap(), b"new");
    }
}
