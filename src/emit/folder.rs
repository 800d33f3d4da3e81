//! The folders that a build uses: what may be replaced, and what a dead build left.
//!
//! In: the output folder's path. Out: [`Place`], locked for this build alone, with leftovers cleared away.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::tree::MARKER;

/// Where a build writes.
pub struct Place {
    /// The output folder.
    pub out: PathBuf,
    /// The folder beside it that the new site is built in.
    pub new: PathBuf,
    /// Where the old site stands for a moment where folders cannot change places in one step.
    pub old: PathBuf,
    /// Held as long as the build runs. The folder above is locked, so that no lock file is left behind.
    _lock: fs::File,
}

impl Place {
    /// Checks that the folder may be replaced, waits for other builds, and clears away what a dead one left.
    ///
    /// # Errors
    /// One sentence: the folder is not ours, is a file, or its parent cannot be written.
    #[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
    pub fn claim(out: &Path) -> Result<Self, String> {
        let fault =
            |what: &str, error: &io::Error| format!("cannot write the site to `{}`: {what}: {error}", out.display());
        // A link stands for the folder it names.
        let out_path =
            fs::canonicalize(out).or_else(|_| std::path::absolute(out)).map_err(|e| fault("no such place", &e))?;
        let (Some(parent), Some(name)) = (out_path.parent(), out_path.file_name()) else {
            return Err(format!("cannot write the site to `{}`: give a folder that can be replaced", out.display()));
        };
        fs::create_dir_all(parent).map_err(|e| fault("the folder above it cannot be made", &e))?;
        let lock = fs::File::open(parent).map_err(|e| fault("the folder above it cannot be opened", &e))?;
        // A file system without locks: two builds at once are then the shop's own care.
        let _ = lock.lock();
        let name = name.to_string_lossy();
        let place = Self {
            new: parent.join(format!(".{name}.ruleout-new")),
            old: parent.join(format!(".{name}.ruleout-old")),
            out: out_path.clone(),
            _lock: lock,
        };
        place.mend().map_err(|e| fault("what an earlier build left cannot be cleared away", &e))?;
        place.judge(out)?;
        fs::create_dir(&place.new).map_err(|e| fault("the folder above it cannot be written", &e))?;
        Ok(place)
    }

    /// What a build that died left: the old site comes back if it is missing, the rest goes.
    fn mend(&self) -> io::Result<()> {
        if fs::symlink_metadata(&self.out).is_err() && is_folder(&self.old) {
            #[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
            fs::rename(&self.old, &self.out)?;
        }
        self.clear()
    }

    /// Clears away the folders beside the output, dot-files that belong into it rescued first.
    #[allow(clippy::disallowed_methods, reason = "emit is the only writer")]
    pub fn clear(&self) -> io::Result<()> {
        for beside in [&self.new, &self.old] {
            // A link of that name could lead anywhere: nothing is taken from there.
            match fs::symlink_metadata(beside) {
                Err(_) => continue,
                Ok(about) if about.is_dir() => {}
                Ok(_) => return Err(io::Error::other(format!("`{}` is no folder: take it away", beside.display()))),
            }
            if self.out.is_dir() {
                for entry in dot_entries(beside)? {
                    let to = self.out.join(entry.file_name());
                    if fs::symlink_metadata(&to).is_err() {
                        fs::rename(entry.path(), to)?;
                    }
                }
            }
            fs::remove_dir_all(beside)?;
        }
        Ok(())
    }

    /// Whether the output folder may be replaced: it is not there, holds dot-files only, or was written by us.
    fn judge(&self, asked: &Path) -> Result<(), String> {
        let shown = asked.display();
        match fs::symlink_metadata(&self.out) {
            Err(_) => return Ok(()),
            Ok(data) if !data.is_dir() => {
                return Err(format!("cannot write the site to `{shown}`: it is not a folder"));
            }
            Ok(_) => {}
        }
        let fault = |e: io::Error| format!("cannot read the folder `{shown}`: {e}");
        if self.out.join(MARKER).is_file() {
            return Ok(());
        }
        match others(&self.out).map_err(fault)? {
            None => Ok(()),
            Some(name) => Err(format!(
                "`{shown}` was not written by ruleout and holds `{name}`: give another folder with --out, or empty it first"
            )),
        }
    }
}

fn is_folder(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok_and(|about| about.is_dir())
}

/// Entries whose name starts with a dot.
#[allow(clippy::disallowed_methods, reason = "emit looks at what it replaces")]
pub fn dot_entries(folder: &Path) -> io::Result<Vec<fs::DirEntry>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_name().to_string_lossy().starts_with('.') {
            found.push(entry);
        }
    }
    Ok(found)
}

/// The first entry by name that is no dot-file.
#[allow(clippy::disallowed_methods, reason = "emit looks at what it replaces")]
fn others(folder: &Path) -> io::Result<Option<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        names.push(entry?.file_name().to_string_lossy().into_owned());
    }
    names.retain(|name| !name.starts_with('.'));
    names.sort();
    Ok(names.into_iter().next())
}
