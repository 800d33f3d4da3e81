//! The only reader.
//!
//! In: a [`Files`] (a folder on disk, a map in memory, or a map laid over a folder: an editor's open
//! buffers). Out: [`Loaded`]: every file of the base as text, the names of the figures, and a finding for
//! each file that cannot be read. `Err` only where the folder itself cannot be read.

mod disk;
mod git;
mod memory;
mod role;

pub use disk::{Disk, text_file};
pub use git::Revision;
pub use memory::{Memory, Overlay};
pub use role::{FOLDERS, Role, TABLES, is_picture, is_svg};

use std::sync::Arc;

use rayon::prelude::*;

use crate::finding::{Finding, Level};
use crate::source::{FileId, SourceFile, Sources, Span};

/// The largest file that is read, in bytes.
pub const LARGEST_FILE: u64 = 8 * 1024 * 1024;

/// Why one file cannot be read, in words for its author.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The fact.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Refusal {
    /// Pairs a fact with what to do.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into() }
    }
}

/// "Give me the files": paths relative to the base with `/`, sorted.
pub trait Files: Sync {
    /// Every file below the base that does not start with a dot.
    ///
    /// # Errors
    /// One sentence, where the folder itself cannot be read.
    fn list(&self) -> Result<Vec<String>, String>;

    /// The bytes of one of them.
    ///
    /// # Errors
    /// Says why it cannot be read.
    fn read(&self, path: &str) -> Result<Vec<u8>, Refusal>;

    /// Whether it could be read, without reading it.
    ///
    /// # Errors
    /// Says why it could not.
    fn probe(&self, path: &str) -> Result<(), Refusal> {
        self.read(path).map(|_| ())
    }
}

/// What was read.
#[derive(Debug, Default)]
pub struct Loaded {
    /// Every text file of the base, in the order of their paths.
    pub sources: Sources,
    /// What each file is, by its id.
    pub roles: Vec<Role>,
    /// Pictures under `figures/`, without the folder. A page could run what other files hold, so they never reach the site.
    pub figures: Vec<String>,
    /// One finding for each file that could not be read; such a file's text is empty.
    pub problems: Vec<Finding>,
    /// Files that could not be read (their dependants are skipped).
    pub unreadable: std::collections::BTreeSet<FileId>,
}

impl Loaded {
    /// Whether some file could not be read.
    pub fn has_unreadable(&self) -> bool {
        !self.unreadable.is_empty()
    }
}

/// Reads every file of a knowledge base.
///
/// # Errors
/// One sentence, where the folder cannot be read or holds nothing of a knowledge base.
pub fn load(files: &dyn Files) -> Result<Loaded, String> {
    let mut wanted: Vec<(String, Role)> =
        files.list()?.into_iter().map(|path| (role::of(&path), path)).map(|(role, path)| (path, role)).collect();
    wanted.retain(|(_, role)| *role != Role::Other);
    wanted.sort();
    if wanted.is_empty() {
        return Err("no knowledge base here: there is neither a table (`shop.yaml`, `vehicles.yaml`, ...) nor a \
                    procedure (`procedures/NAME.md`)"
            .into());
    }
    // Each text is put where it stays as soon as it is read: no two copies of the whole base are ever held.
    let read: Vec<Result<Arc<str>, Box<Unread>>> = wanted
        .par_iter()
        .map(|(path, role)| match role {
            Role::Figure if !role::is_svg(path) => files.probe(path).map(|()| "".into()).map_err(Unread::refused),
            _ => files.read(path).map_err(Unread::refused).and_then(text).map(Arc::from),
        })
        .map(|read| read.map_err(Box::new))
        .collect();
    let mut loaded = Loaded { sources: Sources::with_room_for(wanted.len()), ..Loaded::default() };
    loaded.roles.reserve_exact(wanted.len());
    for ((path, role), result) in wanted.into_iter().zip(read) {
        if let (Role::Figure, Ok(_), true) = (&role, &result, role::is_picture(&path)) {
            loaded.figures.push(path["figures/".len()..].to_owned());
        }
        let (text, problem) = match result {
            Ok(text) => (text, None),
            Err(unread) => (unread.text.into(), Some((unread.at, unread.refusal))),
        };
        let id = loaded.sources.add(SourceFile::new(path, text));
        loaded.roles.push(role);
        if let Some((at, refusal)) = problem {
            loaded.unreadable.insert(id);
            let span = Span::new(id, at, at);
            loaded
                .problems
                .push(Finding::new("bad-front-matter", Level::Error, span, refusal.message).help(refusal.help));
        }
    }
    Ok(loaded)
}

struct Unread {
    text: String,
    at: usize,
    refusal: Refusal,
}

impl Unread {
    fn refused(refusal: Refusal) -> Self {
        Self { text: String::new(), at: 0, refusal }
    }
}

/// Text of bytes; where they are not UTF-8, the text up to there and the place.
fn text(bytes: Vec<u8>) -> Result<String, Unread> {
    if let Some(at) = memchr::memchr(0, &bytes) {
        let text = String::from_utf8_lossy(&bytes[..at]).into_owned();
        let refusal = Refusal::new(
            "this is not a text file: it holds a NUL byte",
            "save it again as plain UTF-8 text, or take it out of the folder",
        );
        return Err(Unread { at: text.len(), text, refusal });
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let byte = error.as_bytes().get(at).copied().unwrap_or_default();
        let text = String::from_utf8_lossy(&error.as_bytes()[..at]).into_owned();
        let refusal = Refusal::new(
            format!("expected UTF-8 text, found the byte 0x{byte:02X} here"),
            "save the file with the encoding UTF-8",
        );
        Unread { text, at, refusal }
    })
}
