//! A knowledge base in a folder.
//!
//! In: the folder. Out: its files. Only plain files inside the folder are read: a link, a pipe or a device
//! is refused, so that nothing outside the folder can reach a page and nothing can block the run.
#![allow(clippy::disallowed_methods, reason = "this is the reader")]

use std::io::Read;
use std::path::{Path, PathBuf};

use super::{Files, LARGEST_FILE, Refusal, Role, role};

/// A folder on disk.
#[derive(Clone, Debug)]
pub struct Disk {
    root: PathBuf,
}

impl Disk {
    /// The folder is not touched until [`Files::list`].
    pub fn new(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    /// The folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Why a site can't stand in a folder, if it can't: the base would read the site, or go with the old one.
    pub fn no_room(&self, folder: &Path) -> Option<&'static str> {
        let root = std::fs::canonicalize(&self.root).ok()?;
        let folder = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
        let real = |there: &Path| Some(std::fs::canonicalize(there).ok()?.join(folder.strip_prefix(there).ok()?));
        let folder = folder.ancestors().find_map(real).unwrap_or_else(|| folder.clone());
        if root.starts_with(&folder) {
            return Some("the knowledge base itself is in it");
        }
        let below = folder.strip_prefix(root).ok()?.components().next()?;
        let is_read = role::FOLDERS.iter().any(|ours| below.as_os_str() == *ours);
        is_read.then_some("files there are read as part of the knowledge base")
    }

    /// The open file and its length.
    fn open(&self, path: &str) -> Result<(std::fs::File, u64), Refusal> {
        let full = self.root.join(path.trim_end_matches('/'));
        let (file, about) = match open_plain(&full) {
            Ok(file) => file.metadata().map(|about| (Ok(file), about)),
            // A link or a socket is not opened: what it is says more than why.
            Err(error) => std::fs::symlink_metadata(&full).map(|about| (Err(error), about)),
        }
        .map_err(|e| match e.kind() {
            // Listed with the replacement sign, and not to be found by it.
            std::io::ErrorKind::NotFound if path.contains('\u{fffd}') => {
                Refusal::new("the file cannot be read: its name is no UTF-8 text", "give it another name")
            }
            _ => cannot_read(&e),
        })?;
        if about.is_symlink() && is_for_a_folder(path) {
            return Err(Refusal::new(
                "expected a folder, found a link to another place",
                "copy the folder into the knowledge base",
            ));
        }
        if about.is_symlink() {
            return Err(Refusal::new(
                "expected a file, found a link to another place",
                "copy the file into the knowledge base",
            ));
        }
        if about.is_dir() {
            return Err(Refusal::new(
                "expected a file, found a folder",
                "give the folder another name, or take it out",
            ));
        }
        if !about.is_file() {
            return Err(Refusal::new("expected a file, found a pipe or a device", "take it out of the knowledge base"));
        }
        if about.len() > LARGEST_FILE {
            return Err(Refusal::new(
                format!("the file has {} MB: at most 8 MiB are read", about.len() / 1_000_000),
                "split it into several files",
            ));
        }
        let file = file.map_err(|e| cannot_read(&e))?;
        Ok((file, about.len()))
    }
}

/// Opens a file to read. A link is not followed, whoever puts it there in the meantime, and a pipe is not waited at.
fn open_plain(path: &Path) -> std::io::Result<std::fs::File> {
    let mut options = std::fs::OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
        options.custom_flags(flags.bits().cast_signed());
    }
    #[cfg(not(unix))]
    if path.is_symlink() {
        return Err(std::io::ErrorKind::InvalidInput.into());
    }
    options.open(path)
}

fn cannot_read(error: &std::io::Error) -> Refusal {
    let why = match error.kind() {
        std::io::ErrorKind::PermissionDenied => "you have no permission to read it",
        std::io::ErrorKind::NotFound => "it is gone",
        _ => return Refusal::new(format!("the file cannot be read: {error}"), "check the disk"),
    };
    Refusal::new(format!("the file cannot be read: {why}"), "give it back, or take it out of the folder")
}

impl Files for Disk {
    fn list(&self) -> Result<Vec<String>, String> {
        let shown = self.root.display();
        let about = std::fs::metadata(&self.root).map_err(|e| match e.kind() {
            std::io::ErrorKind::NotFound => format!("there is no folder `{shown}`"),
            _ => format!("the folder `{shown}` cannot be read: {e}"),
        })?;
        if !about.is_dir() {
            return Err(format!("expected a folder, found the file `{shown}`"));
        }
        let mut paths = Vec::new();
        let walk = walkdir::WalkDir::new(&self.root).follow_root_links(true).max_depth(32);
        let entries = walk.into_iter().filter_entry(|e| e.depth() == 0 || !is_hidden(e));
        for entry in entries {
            let entry = entry.map_err(|e| {
                let at = e.path().unwrap_or(&self.root).display();
                match e.io_error().map(std::io::Error::kind) {
                    Some(std::io::ErrorKind::PermissionDenied) => {
                        format!("the folder `{at}` cannot be read: you have no permission to read it")
                    }
                    Some(std::io::ErrorKind::NotFound) => format!("the folder `{at}` cannot be read: it is gone"),
                    _ => format!("the folder `{at}` cannot be read: {e}"),
                }
            })?;
            let below = entry.path().strip_prefix(&self.root).unwrap_or(entry.path());
            // A name that is not Unicode can be no id; it is shown with the replacement sign and refused when read.
            let parts: Vec<_> = below.components().map(|c| c.as_os_str().to_string_lossy()).collect();
            let path = parts.join("/");
            // A folder by a file's name is listed as that file, and refused when read; so is a link that leads to no file.
            let is_link = entry.path_is_symlink() && !is_file_name(&path) && !entry.path().is_file();
            if is_link {
                paths.push(path + "/");
            } else if !entry.file_type().is_dir() || is_file_name(&path) {
                paths.push(path);
            }
        }
        paths.sort_unstable();
        Ok(paths)
    }

    fn read(&self, path: &str) -> Result<Vec<u8>, Refusal> {
        let (file, length) = self.open(path)?;
        // Room for one more, so that one look tells the end.
        let mut bytes = Vec::with_capacity(length as usize + 1);
        // A file that grows while it is read still stops at the limit.
        file.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(|e| cannot_read(&e))?;
        Ok(bytes)
    }

    fn probe(&self, path: &str) -> Result<(), Refusal> {
        self.open(path).map(|_| ())
    }
}

/// Whether a path can only be a folder's.
fn is_for_a_folder(path: &str) -> bool {
    path.ends_with('/') || role::FOLDERS.contains(&path)
}

/// Whether the base reads a file of this name.
fn is_file_name(path: &str) -> bool {
    if role::FOLDERS.contains(&path) {
        return false;
    }
    match role::of(path) {
        Role::Other => false,
        Role::Figure => role::is_picture(path),
        _ => true,
    }
}

fn is_hidden(entry: &walkdir::DirEntry) -> bool {
    entry.file_name().to_string_lossy().starts_with('.')
}

/// A text file that belongs to no base, such as a record of findings.
///
/// # Errors
/// One sentence without the file's name: it can't be read, is too long or is no text.
pub fn text_file(path: &Path) -> Result<String, String> {
    let read = || -> std::io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        std::fs::File::open(path)?.take(LARGEST_FILE + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    if path.is_dir() {
        return Err("it is a folder".into());
    }
    let bytes = read().map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::PermissionDenied => "you have no permission to read it".to_owned(),
        _ => error.to_string(),
    })?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err("it has more than 8 MiB".into());
    }
    String::from_utf8(bytes).map_err(|_| "it is no UTF-8 text".to_owned())
}
