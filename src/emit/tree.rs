//! A site's folder, replaced whole.
//!
//! In: a function that hands over every file. Out: the finished folder under its name, or the old one untouched.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use sha2::{Digest as _, Sha256};

use super::exchange::exchange;
use super::folder::{Place, dot_entries};

/// The file that tells that a folder is ours; it lists every file with its digest.
pub const MARKER: &str = "ruleout-site.txt";

const MARKER_TEXT: &str = "This folder is written by ruleout, and replaced whole by its next `ruleout compile`.\n\
                           Only files whose name starts with a dot stay. SHA-256 and path of every file:\n";

/// What was written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// Files of the site, the list of them left out.
    pub files: usize,
    /// Files whose bytes did not change.
    pub unchanged: usize,
}

/// A file of the new site.
#[derive(Default)]
struct File {
    digest: String,
    unchanged: bool,
}

/// The new site while it is made. Files may be put from several threads, in any order.
pub struct Tree {
    new: PathBuf,
    out: PathBuf,
    /// Whether there is a site already.
    is_there: bool,
    files: Mutex<BTreeMap<String, File>>,
    /// Folders made so far.
    folders: Mutex<BTreeSet<PathBuf>>,
}

impl Tree {
    /// Adds a file.
    ///
    /// # Errors
    /// One sentence: it cannot be written, its address leads out of the site, or two files have one address.
    #[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
    pub fn put(&self, address: &str, bytes: &[u8]) -> Result<(), String> {
        let path = Path::new(address);
        let inside = path.components().all(|part| matches!(part, Component::Normal(_)));
        if !inside || address.is_empty() || address.starts_with('.') || address == MARKER {
            return Err(format!("`{address}` is no address of a file in the site"));
        }
        // Taken before anything is written: a second file at one address would write through the link into the old site.
        if self.files().insert(address.to_owned(), File::default()).is_some() {
            return Err(format!("two files of the site have the address `{address}`"));
        }
        let digest = crate::plan::hex(&Sha256::digest(bytes));
        let fault = |error: io::Error| format!("cannot write `{address}` of the site: {error}");
        let to = self.new.join(path);
        self.make_folder(path).map_err(fault)?;
        let unchanged =
            self.is_there && self.is_unchanged(path, bytes) && fs::hard_link(self.out.join(path), &to).is_ok();
        if !unchanged {
            fs::write(&to, bytes).map_err(fault)?;
        }
        self.files().insert(address.to_owned(), File { digest, unchanged });
        Ok(())
    }

    /// The SHA-256 of every file so far in hexadecimal digits, by address.
    pub fn digests(&self) -> BTreeMap<String, String> {
        self.files().iter().map(|(address, file)| (address.clone(), file.digest.clone())).collect()
    }

    fn files(&self) -> MutexGuard<'_, BTreeMap<String, File>> {
        self.files.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Makes the folder of a file, once.
    #[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        let Some(folder) = path.parent() else { return Ok(()) };
        // Held until it is made: whoever comes second must find it.
        let mut made = self.folders.lock().unwrap_or_else(PoisonError::into_inner);
        if !made.contains(folder) {
            fs::create_dir_all(self.new.join(folder))?;
            made.insert(folder.to_owned());
        }
        Ok(())
    }

    /// Whether the old site holds these bytes there. The bytes themselves are compared: somebody may have changed the file.
    #[allow(clippy::disallowed_methods, reason = "emit looks at what it replaces")]
    fn is_unchanged(&self, path: &Path, bytes: &[u8]) -> bool {
        let old = self.out.join(path);
        let same_length = |data: fs::Metadata| data.is_file() && data.len() == bytes.len() as u64;
        fs::symlink_metadata(&old).is_ok_and(same_length) && fs::read(&old).is_ok_and(|old| old == bytes)
    }

    /// Writes the list of files and carries the old folder's dot-files and permissions over.
    #[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
    fn finish(&self) -> io::Result<Written> {
        let files = self.files();
        let mut list = MARKER_TEXT.to_owned();
        for (address, file) in files.iter() {
            list.push_str(&format!("{}  {address}\n", file.digest));
        }
        fs::write(self.new.join(MARKER), list)?;
        if self.out.is_dir() {
            fs::set_permissions(&self.new, fs::metadata(&self.out)?.permissions())?;
            for entry in dot_entries(&self.out)? {
                let to = self.new.join(entry.file_name());
                // Folders move over once the site has changed places; a file stands in both meanwhile.
                if entry.file_type()?.is_file() && fs::hard_link(entry.path(), &to).is_err() {
                    fs::copy(entry.path(), &to)?;
                }
            }
        }
        let unchanged = files.values().filter(|file| file.unchanged).count();
        Ok(Written { files: files.len(), unchanged })
    }
}

/// Builds a site beside the folder `out`, then puts it in its place. If `make` fails, nothing in the old one changes.
///
/// # Errors
/// One sentence: what `make` said, or why the folder cannot be replaced.
pub fn replace_site(out: &Path, make: impl FnOnce(&Tree) -> Result<(), String>) -> Result<Written, String> {
    let place = Place::claim(out)?;
    let tree = Tree {
        new: place.new.clone(),
        is_there: place.out.is_dir(),
        out: place.out.clone(),
        files: Mutex::default(),
        folders: Mutex::default(),
    };
    let fault = |what: &str, error: &io::Error| format!("cannot write the site to `{}`: {what}{error}", out.display());
    let made = make(&tree).and_then(|()| tree.finish().map_err(|e| fault("", &e))).and_then(|written| {
        match exchange(&place.new, &place.out, &place.old) {
            Ok(()) => Ok(written),
            Err(error) if is_mount(&error) => {
                Err(fault("it is a mount point, which cannot be replaced; give a folder inside it: ", &error))
            }
            Err(error) => Err(fault("", &error)),
        }
    });
    let cleared = place.clear();
    let written = made?;
    cleared.map_err(|e| fault("the old site cannot be cleared away: ", &e))?;
    Ok(written)
}

fn is_mount(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::ResourceBusy | io::ErrorKind::CrossesDevices)
}
