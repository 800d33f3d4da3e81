//! The base as the editor has it: files on disk, open buffers over them, all judged.
//!
//! In: what the editor opens, changes, closes. Out: the newest text of every file, its uses, and the base as it was last
//! judged. Judging waits until it is asked for: an editor sends a change with every keystroke.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use lsp_types::{TextDocumentContentChangeEvent, Uri};
use rayon::prelude::*;

use super::place::{Encoding, Lines, uri_of};
use super::uses::{self, FileUses, Symbol, Use};
use crate::load::{Disk, Memory, Overlay, Role};
use crate::pipeline::{Engine, Linted};
use crate::source::FileId;

/// The uses of each file, with the text they were read from.
type Kept = BTreeMap<String, (Arc<str>, Arc<FileUses>)>;

/// An open buffer.
pub struct Doc {
    /// As the editor names it.
    pub uri: Uri,
    /// As the editor counts it.
    pub version: i32,
    /// Its text.
    pub text: Arc<str>,
}

/// Procedures that are judged before the editor is listened to again: some ten milliseconds.
const PART: usize = 24;

/// What the editor takes in answers.
#[derive(Clone, Copy, Debug, Default)]
pub struct Takes {
    /// Edits with the versions of open buffers.
    pub document_changes: bool,
    /// Files that get another name.
    pub file_renames: bool,
}

/// Why the folder must be read again, the weightier reason last.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reload {
    No,
    FilesChanged,
    /// What was judged is the text of a buffer that is gone.
    BufferClosed,
}

/// The base and its open buffers. Files go by their path in the base.
pub struct Desk {
    root: PathBuf,
    disk: Disk,
    /// What a column counts.
    pub encoding: Encoding,
    /// What the editor takes.
    pub takes: Takes,
    /// Open buffers.
    pub docs: BTreeMap<String, Doc>,
    buffers: Memory,
    engine: Option<Engine>,
    dirty: BTreeSet<String>,
    reload: Reload,
    midway: bool,
    /// Whether something was judged since the editor was told.
    pub untold: bool,
    uses: RefCell<Kept>,
}

impl Desk {
    /// The folder is not read until [`Desk::judge`].
    pub fn new(root: PathBuf, encoding: Encoding, takes: Takes) -> Self {
        let disk = Disk::new(&root);
        let (docs, uses) = (BTreeMap::new(), RefCell::default());
        let buffers = Memory::default();
        Self {
            root,
            disk,
            encoding,
            takes,
            docs,
            buffers,
            engine: None,
            dirty: BTreeSet::new(),
            reload: Reload::FilesChanged,
            midway: false,
            untold: false,
            uses,
        }
    }

    /// The path in the base of a file; nothing where it lies elsewhere.
    pub fn within(&self, file: &Path) -> Option<String> {
        let below = file.strip_prefix(&self.root).ok()?;
        let parts: Option<Vec<&str>> = below.components().map(|c| c.as_os_str().to_str()).collect();
        Some(parts?.join("/"))
    }

    /// The address of a file of the base: as the editor names it, where it is open.
    pub fn uri(&self, path: &str) -> Option<Uri> {
        self.docs.get(path).map(|d| d.uri.clone()).or_else(|| uri_of(&self.root.join(path)))
    }

    /// Takes a buffer that was opened, or whose text is sent anew.
    pub fn open(&mut self, path: String, uri: Uri, version: i32, text: &str) {
        self.buffers.set(path.clone(), text.as_bytes());
        self.docs.insert(path.clone(), Doc { uri, version, text: text.into() });
        self.dirty.insert(path);
    }

    /// Takes changes of a buffer, one after another.
    pub fn change(&mut self, path: &str, version: i32, changes: Vec<TextDocumentContentChangeEvent>) {
        let Some(doc) = self.docs.get_mut(path) else { return };
        let mut text = doc.text.to_string();
        for change in changes {
            match change.range {
                None => text = change.text,
                Some(range) => {
                    let bytes = Lines::new(&text, self.encoding).bytes(range);
                    text.replace_range(bytes, &change.text);
                }
            }
        }
        doc.version = version;
        doc.text = text.as_str().into();
        self.buffers.set(path, text);
        self.dirty.insert(path.to_owned());
    }

    /// Lets go of a buffer: the file on disk holds again.
    pub fn close(&mut self, path: &str) {
        self.docs.remove(path);
        self.buffers.remove(path);
        self.reload = Reload::BufferClosed;
    }

    /// Files changed on disk.
    pub fn look_again(&mut self) {
        self.reload = self.reload.max(Reload::FilesChanged);
    }

    /// Whether something waits to be judged or told.
    pub fn is_waiting(&self) -> bool {
        self.untold || self.reload != Reload::No || !self.dirty.is_empty()
    }

    /// Whether the base as it was last judged lacks a buffer that is open, or holds the text of one that was let go.
    pub fn is_behind(&self) -> bool {
        let known = |path: &String| self.linted().is_some_and(|l| l.loaded.sources.find(path).is_some());
        self.reload == Reload::BufferClosed || self.dirty.iter().any(|path| !known(path))
    }

    /// Whether judging has begun and is not done.
    pub fn is_midway(&self) -> bool {
        self.midway
    }

    /// Judges what changed since the last time, all of it. A fault of ours is told as a sentence too: an editor must not lose its
    /// server over one file.
    ///
    /// # Errors
    /// One sentence, where the folder cannot be read or holds no knowledge base.
    pub fn judge(&mut self) -> Result<(), String> {
        while !self.judge_part()? {}
        Ok(())
    }

    /// Judges a part of what changed: an editor is answered between two parts. True: all is judged.
    ///
    /// # Errors
    /// As [`Desk::judge`].
    pub fn judge_part(&mut self) -> Result<bool, String> {
        let judged = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| self.judge_now()));
        judged.unwrap_or_else(|_| {
            self.forget();
            self.reload = Reload::No;
            Err("the knowledge base could not be judged: this is a fault of ruleout".to_owned())
        })
    }

    fn judge_now(&mut self) -> Result<bool, String> {
        let dirty = std::mem::take(&mut self.dirty);
        self.untold = true;
        self.midway = false;
        let files = Overlay { buffers: &self.buffers, below: &self.disk };
        let Some(engine) = &mut self.engine else {
            // A folder that can't be read is not read again before something happens.
            self.reload = Reload::No;
            self.engine = Some(Engine::open(&files)?);
            return Ok(true);
        };
        let sources = &engine.linted().loaded.sources;
        let known: Option<Vec<_>> =
            dirty.iter().map(|p| Some((sources.find(p)?, Arc::clone(&self.docs.get(p)?.text)))).collect();
        // Whether a file is text is told where it is loaded.
        let is_text = |texts: &Vec<(FileId, Arc<str>)>| texts.iter().all(|(_, text)| !text.contains('\0'));
        match known.filter(|t| self.reload == Reload::No && is_text(t) && !engine.linted().loaded.has_unreadable()) {
            Some(texts) => {
                engine.start(texts);
                self.midway = !engine.advance(PART);
            }
            None => {
                self.reload = Reload::No;
                engine.reload(&files)?;
            }
        }
        Ok(!self.midway)
    }

    /// Forgets what was judged: it is read afresh.
    fn forget(&mut self) {
        self.engine = None;
        self.midway = false;
        self.reload = self.reload.max(Reload::FilesChanged);
    }

    /// The base as it was last judged.
    pub fn linted(&self) -> Option<&Linted> {
        self.engine.as_ref().map(Engine::linted)
    }

    /// Every text file of the base with its role and newest text, in the order of their paths.
    pub fn files(&self) -> Vec<(&str, &Role, Arc<str>)> {
        let Some(linted) = self.linted() else { return Vec::new() };
        let roles = &linted.loaded.roles;
        let files = linted.loaded.sources.iter().filter_map(|(id, f)| Some((f, roles.get(id.0 as usize)?)));
        let newest = |path: &str| self.docs.get(path).map(|d| Arc::clone(&d.text));
        files.map(|(f, role)| (f.path(), role, newest(f.path()).unwrap_or_else(|| f.shared_text()))).collect()
    }

    /// One file of the base.
    pub fn file(&self, path: &str) -> Option<(&Role, Arc<str>)> {
        let loaded = &self.linted()?.loaded;
        let id = loaded.sources.find(path)?;
        let text = self.docs.get(path).map_or_else(|| loaded.sources.file(id).shared_text(), |d| Arc::clone(&d.text));
        Some((loaded.roles.get(id.0 as usize)?, text))
    }

    /// The uses of every file, in the order of their paths; only texts that changed are read again.
    pub fn uses(&self) -> Vec<(String, Arc<FileUses>)> {
        let files = self.files();
        let mut kept = self.uses.borrow_mut();
        let stale: Vec<_> =
            files.iter().filter(|(p, _, text)| kept.get(*p).is_none_or(|(old, _)| !Arc::ptr_eq(old, text))).collect();
        let fresh: Vec<_> = stale
            .into_par_iter()
            .map(|(p, role, text)| ((*p).to_owned(), (Arc::clone(text), Arc::new(uses::of(p, role, text)))))
            .collect();
        kept.extend(fresh);
        files.iter().filter_map(|(p, ..)| Some(((*p).to_owned(), Arc::clone(&kept.get(*p)?.1)))).collect()
    }

    /// The use at a byte of a file.
    pub fn use_at(&self, path: &str, offset: usize) -> Option<Use> {
        let (role, text) = self.file(path)?;
        uses::of(path, role, &text).at(offset).cloned()
    }

    /// Where a symbol is named for the first time, and everywhere else, each with its file.
    pub fn places_of(&self, symbol: &Symbol) -> Vec<(String, Use)> {
        let all = self.uses();
        let mut places = Vec::new();
        for (path, uses) in &all {
            places.extend(uses.all.iter().filter(|u| u.symbol == *symbol).map(|u| (path.clone(), u.clone())));
        }
        places
    }
}
