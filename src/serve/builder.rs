//! The one thread that holds the base: it makes pages, and judges again what a save touched.
//!
//! In: questions and the news that files changed. Out: answers, and after each change a word of how the base stands.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

use serde::Serialize;
use tokio::sync::{oneshot, watch};

use super::pages::{Kept, Pages, Served, State};
use super::watch::{Watch, again};
use crate::load::{Disk, Files as _, Role};
use crate::pipeline::{Engine, Update};
use crate::source::FileId;

/// What the builder is asked.
pub enum Ask {
    /// The file at an address of the site.
    File {
        /// The address, from the site's top.
        address: String,
        /// Where the answer goes.
        reply: oneshot::Sender<Served>,
    },
    /// These files changed, came or went.
    Changed(Vec<PathBuf>),
}

/// How the base stands.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Told {
    /// Which state this is, counted from 1.
    pub generation: u64,
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Notes.
    pub notes: usize,
    /// Why the base can't be read any more; the last state is shown then.
    pub trouble: Option<String>,
}

impl Told {
    /// How a base that was judged stands.
    pub fn of(engine: &Engine, generation: u64) -> Self {
        let summary = engine.linted().report.summary;
        let (errors, warnings, notes) = (summary.errors, summary.warnings, summary.notes);
        Self { generation, errors, warnings, notes, trouble: None }
    }
}

/// Where the base is.
pub struct Place {
    /// The folder as the author named it.
    pub base: PathBuf,
    /// The same folder as the paths of changed files begin.
    pub watched: PathBuf,
    /// What stands before a file's path in messages.
    pub prefix: String,
}

/// From so many files changed at once on, no page is kept beforehand: somebody changed to another state of the whole base.
const MANY: usize = 20;

/// Answers until nobody can ask any more.
pub fn work(mut engine: Engine, place: &Place, mut watching: Watch, asks: &Receiver<Ask>, told: &watch::Sender<Told>) {
    let Place { base, watched, prefix } = place;
    let files = Disk::new(base);
    let mut kept = Kept::new();
    let mut pictures = 0;
    loop {
        let state = State { generation: told.borrow().generation, pictures, prefix };
        let Ok(pages) = Pages::new(&files, engine.linted(), state) else { return };
        let in_trouble = told.borrow().trouble.is_some();
        let Some(changed) = serve(&pages, asks, &mut kept, in_trouble) else { return };
        let saved: Vec<String> = changed.iter().filter_map(|path| procedure_of(watched, path)).collect();
        if saved.len() <= MANY {
            // Should this save break it, the page as it was is still there to be shown.
            for id in &saved {
                pages.keep(id, &mut kept);
            }
        }
        drop(pages);
        let is_picture = |path: &PathBuf| path.strip_prefix(watched).is_ok_and(|below| below.starts_with("figures"));
        let redrawn = changed.iter().any(is_picture);
        pictures += u64::from(redrawn);
        let update = match texts(&engine, &files, watched, &changed) {
            Some(texts) if !in_trouble => Ok(engine.replace(texts)),
            _ => engine.reload(&files),
        };
        match update {
            Ok(Update::Nothing) if !redrawn && !in_trouble => {}
            Ok(_) => {
                if in_trouble {
                    // The folder is back, perhaps another of that name.
                    again(&mut watching, watched);
                }
                told.send_modify(|told| *told = Told::of(&engine, told.generation + 1));
            }
            // Told once; until it can be read again there is nothing new to tell.
            Err(_) if in_trouble => {}
            Err(why) => told.send_modify(|told| {
                told.generation += 1;
                told.trouble = Some(format!("{}: {why}", base.display()));
            }),
        }
    }
}

/// The new texts of changed files, where that is all that changed: with many files, reading them all takes longer than the rest.
/// Nothing where files came, went, or can't be read.
fn texts(engine: &Engine, files: &Disk, watched: &Path, changed: &[PathBuf]) -> Option<Vec<(FileId, Arc<str>)>> {
    if !watched.is_dir() {
        return None;
    }
    let loaded = &engine.linted().loaded;
    let mut texts = Vec::new();
    for path in changed {
        let below = path.strip_prefix(watched).ok()?.to_str()?.replace('\\', "/");
        let Some(id) = loaded.sources.find(&below) else {
            // An editor's own file that is gone again; but a folder that is gone took files along.
            let folder = format!("{below}/");
            if path.exists() || loaded.sources.iter().any(|(_, file)| file.path().starts_with(&folder)) {
                return None;
            }
            continue;
        };
        if loaded.unreadable.contains(&id) {
            return None;
        }
        if loaded.roles.get(id.0 as usize) == Some(&Role::Figure) {
            files.probe(&below).ok()?;
            continue;
        }
        let text = String::from_utf8(files.read(&below).ok()?).ok().filter(|text| !text.contains('\0'))?;
        texts.push((id, text.into()));
    }
    // An empty list of paths is the system's word that it lost count.
    (!changed.is_empty()).then_some(texts)
}

/// Answers until files changed; nothing once nobody can ask any more. A folder in trouble may come back without a word: it is
/// looked for from time to time.
fn serve(pages: &Pages<'_>, asks: &Receiver<Ask>, kept: &mut Kept, in_trouble: bool) -> Option<Vec<PathBuf>> {
    let patience = if in_trouble { Duration::from_millis(500) } else { Duration::from_secs(86_400) };
    loop {
        let ask = match asks.recv_timeout(patience) {
            Ok(ask) => ask,
            Err(RecvTimeoutError::Timeout) => return Some(Vec::new()),
            Err(RecvTimeoutError::Disconnected) => return None,
        };
        match ask {
            // Whoever asked may be gone by now.
            Ask::File { address, reply } => drop(reply.send(pages.get(&address, kept))),
            Ask::Changed(paths) => return Some(paths),
        }
    }
}

/// The id of the procedure that a file holds.
fn procedure_of(base: &Path, path: &Path) -> Option<String> {
    let below = path.strip_prefix(base).ok()?;
    let is_one = below.starts_with("procedures") && below.extension().is_some_and(|e| e == "md");
    is_one.then(|| below.file_stem().map(|stem| stem.to_string_lossy().into_owned())).flatten()
}
