//! Where the knowledge base is.
//!
//! In: the command line and the working folder. Out: the folder, and what stands before its files' names in messages.

use std::path::{Component, Path, PathBuf};

/// The folder: as named, else the nearest upward that holds `shop.yaml`, else `./kb`.
pub fn base(named: Option<&Path>) -> PathBuf {
    if let Some(named) = named {
        return named.to_path_buf();
    }
    let here = std::env::current_dir().unwrap_or_default();
    let mut shown = PathBuf::new();
    for folder in here.ancestors() {
        if folder.join("shop.yaml").is_file() {
            return if shown.as_os_str().is_empty() { PathBuf::from(".") } else { shown };
        }
        shown.push("..");
    }
    PathBuf::from("kb")
}

/// `kb` as `kb/`, `.` as nothing, with `/`: what stands before a file's name. A base below the working folder is named from
/// there, however it was given.
pub fn prefix(base: &Path) -> String {
    let here = std::env::current_dir().unwrap_or_default();
    let mut text = String::new();
    for part in base.strip_prefix(&here).unwrap_or(base).components() {
        match part {
            Component::CurDir => {}
            Component::RootDir => text.push('/'),
            other => {
                text.push_str(&other.as_os_str().to_string_lossy());
                text.push('/');
            }
        }
    }
    text
}

/// A file on the command line as the path within the base: relative to the base, or to the working folder.
pub fn within(base: &Path, file: &Path) -> String {
    let absolute = std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf());
    let root = std::path::absolute(base).unwrap_or_else(|_| base.to_path_buf());
    match absolute.strip_prefix(&root) {
        Ok(below) if absolute.exists() => slashes(below),
        _ => slashes(file),
    }
}

fn slashes(path: &Path) -> String {
    let parts = path.components().filter(|c| !matches!(c, Component::CurDir));
    parts.map(|c| c.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>().join("/")
}
