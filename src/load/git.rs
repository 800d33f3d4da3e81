//! A knowledge base as a git revision had it.
//!
//! In: a folder of a work tree and a revision. Out: [`Revision`], the files of that folder then. `git` itself is asked: names by `ls-tree`,
//! bytes by one `cat-file`. Nothing is checked out, nothing is written.

use std::collections::BTreeMap;
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::{Files, LARGEST_FILE, Refusal};

/// The files of one revision.
#[derive(Debug)]
pub struct Revision {
    files: BTreeMap<String, Held>,
}

/// What the revision holds under a path.
#[derive(Debug)]
enum Held {
    Bytes(Vec<u8>),
    /// A picture: only its name is asked for.
    Unread,
    Refused(Refusal),
}

impl Revision {
    /// Reads the files of `folder` (which may no longer be there) as `name` had them. `REVISION:FOLDER` names another folder of the
    /// repository.
    ///
    /// # Errors
    /// One sentence: no git, no repository, no such revision, no such folder in it.
    pub fn read(folder: &Path, name: &str) -> Result<Self, String> {
        let absolute = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
        let here = absolute.ancestors().find(|a| a.is_dir()).unwrap_or(Path::new("."));
        let below = absolute.strip_prefix(here).unwrap_or(Path::new(""));
        let nothing = || {
            format!(
                "there is no folder `{name}`, and no git repository around here that could have a revision of that name"
            )
        };
        let prefix = ask(here, &["rev-parse", "--show-prefix"])?.ok_or_else(nothing)?;
        let no_revision = || format!("there is neither a folder nor a git revision `{name}`");
        if name.starts_with('-') || name.is_empty() {
            return Err(no_revision());
        }
        let (revision, path) = match name.split_once(':') {
            Some((revision, path)) => (revision.to_owned(), path.trim_matches('/').to_owned()),
            None => (name.to_owned(), slashes(&Path::new(prefix.trim_end_matches('\n')).join(below))),
        };
        let commit =
            ask(here, &["rev-parse", "--verify", "--quiet", "--end-of-options", &format!("{revision}^{{tree}}")])?
                .ok_or_else(no_revision)?;
        let tree = format!("{}:{path}", commit.trim());
        let listing = ask_bytes(here, &["ls-tree", "-r", "-z", "-l", "--full-tree", "--end-of-options", &tree])?
            .ok_or_else(|| {
                let path = if path.is_empty() { "." } else { &path };
                format!("revision `{revision}` has no folder `{path}`")
            })?;
        let entries: Vec<Entry> = listing.split(|b| *b == 0).filter_map(Entry::of).collect();
        Ok(Self { files: contents(here, entries)? })
    }
}

impl Revision {
    /// Whether the repository around a folder has a revision of this name.
    pub fn is_there(folder: &Path, name: &str) -> bool {
        let absolute = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
        let here = absolute.ancestors().find(|a| a.is_dir()).unwrap_or(Path::new("."));
        let words = ["rev-parse", "--verify", "--quiet", "--end-of-options", &format!("{name}^{{tree}}")];
        !name.starts_with('-') && ask(here, &words).is_ok_and(|answer| answer.is_some())
    }
}

impl Files for Revision {
    fn list(&self) -> Result<Vec<String>, String> {
        Ok(self.files.keys().cloned().collect())
    }

    fn read(&self, path: &str) -> Result<Vec<u8>, Refusal> {
        match self.files.get(path) {
            Some(Held::Bytes(bytes)) => Ok(bytes.clone()),
            Some(Held::Unread) => Ok(Vec::new()),
            Some(Held::Refused(refusal)) => Err(refusal.clone()),
            None => Err(Refusal::new("the file cannot be read: it is gone", "give it back")),
        }
    }
}

/// One line of `ls-tree -l`: mode, type, object, size, path.
struct Entry {
    path: String,
    object: String,
    refusal: Option<Refusal>,
}

impl Entry {
    fn of(line: &[u8]) -> Option<Self> {
        let line = String::from_utf8_lossy(line);
        let (about, path) = line.split_once('\t')?;
        if path.split('/').any(|part| part.starts_with('.')) {
            return None;
        }
        let mut words = about.split_whitespace();
        let (mode, kind, object, size) = (words.next()?, words.next()?, words.next()?, words.next()?);
        let refusal = if mode == "120000" {
            Some(Refusal::new(
                "expected a file, found a link to another place",
                "copy the file into the knowledge base",
            ))
        } else if size.parse::<u64>().is_ok_and(|size| size > LARGEST_FILE) {
            Some(Refusal::new("the file is too long: at most 8 MiB are read", "split it into several files"))
        } else {
            None
        };
        (kind == "blob").then(|| Self { path: path.to_owned(), object: object.to_owned(), refusal })
    }

    /// A drawing is text, and read.
    fn is_picture(&self) -> bool {
        self.path.starts_with("figures/") && !super::role::is_svg(&self.path)
    }
}

/// The bytes of every entry, from one `git cat-file --batch`.
fn contents(here: &Path, entries: Vec<Entry>) -> Result<BTreeMap<String, Held>, String> {
    let wanted: Vec<String> =
        entries.iter().filter(|e| e.refusal.is_none() && !e.is_picture()).map(|e| format!("{}\n", e.object)).collect();
    let mut read = blobs(here, wanted)?.into_iter();
    let mut files = BTreeMap::new();
    for entry in entries {
        let held = match entry.refusal.clone() {
            Some(refusal) => Held::Refused(refusal),
            None if entry.is_picture() => Held::Unread,
            None => Held::Bytes(read.next().ok_or("git gave fewer files than it named")?),
        };
        files.insert(entry.path, held);
    }
    Ok(files)
}

fn blobs(here: &Path, wanted: Vec<String>) -> Result<Vec<Vec<u8>>, String> {
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let fault = |why: std::io::Error| format!("git could not be asked: {why}");
    let mut git = command(here, &["cat-file", "--batch"]).stdin(Stdio::piped()).spawn().map_err(fault)?;
    let input = git.stdin.take();
    let count = wanted.len();
    // Names go in while bytes come out: neither pipe may fill up.
    let writer =
        std::thread::spawn(move || input.map_or(Ok(()), |mut pipe| pipe.write_all(wanted.concat().as_bytes())));
    let mut bytes = Vec::new();
    if let Some(output) = git.stdout.as_mut() {
        output.read_to_end(&mut bytes).map_err(fault)?;
    }
    git.wait().map_err(fault)?;
    drop(writer.join());
    let mut blobs = Vec::with_capacity(count);
    let mut rest = bytes.as_slice();
    // Each: `OBJECT blob SIZE`, a line end, the bytes, a line end.
    while let Some(end) = rest.iter().position(|b| *b == b'\n') {
        let head = String::from_utf8_lossy(&rest[..end]).into_owned();
        let size = head.rsplit(' ').next().and_then(|size| size.parse::<usize>().ok());
        let blob = size.and_then(|size| rest.get(end + 1..end + 1 + size));
        let blob = blob.ok_or_else(|| format!("git could not read an object: {head}"))?;
        blobs.push(blob.to_vec());
        rest = rest.get(end + 2 + blob.len()..).unwrap_or_default();
    }
    Ok(blobs)
}

fn command(here: &Path, words: &[&str]) -> Command {
    let mut git = Command::new("git");
    git.arg("-C")
        .arg(here)
        .args(words)
        .env("LC_ALL", "C")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    git
}

/// What git answers; nothing where it says no.
fn ask_bytes(here: &Path, words: &[&str]) -> Result<Option<Vec<u8>>, String> {
    let output = command(here, words).output().map_err(|why| match why.kind() {
        std::io::ErrorKind::NotFound => "comparing with a revision needs git, which is not installed here".to_owned(),
        _ => format!("git could not be asked: {why}"),
    })?;
    Ok(output.status.success().then_some(output.stdout))
}

fn ask(here: &Path, words: &[&str]) -> Result<Option<String>, String> {
    Ok(ask_bytes(here, words)?.map(|bytes| String::from_utf8_lossy(&bytes).into_owned()))
}

fn slashes(path: &Path) -> String {
    let parts: Vec<_> = path.components().map(|c| c.as_os_str().to_string_lossy()).collect();
    PathBuf::from(parts.join("/")).to_string_lossy().into_owned()
}
