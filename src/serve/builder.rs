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
    let mut unsettled = false;
    loop {
        let state = State { generation: told.borrow().generation, pictures, prefix };
        let Ok(pages) = Pages::new(&files, engine.linted(), state) else { return };
        let in_trouble = told.borrow().trouble.is_some();
        let Some(changed) = serve(&pages, asks, &mut kept, in_trouble || unsettled) else { return };
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
        if in_trouble {
            // The folder may be back, perhaps another of that name: watched before it is read, so that nothing comes in between.
            again(&mut watching, watched);
        }
        let texts = texts(&engine, &files, watched, &changed).filter(|_| !in_trouble);
        let is_whole = texts.is_none();
        let update = match texts {
            Some(texts) => Ok(engine.replace(texts)),
            None => engine.reload(&files),
        };
        // What comes with a new folder may come before that is watched: one look more, until nothing is new.
        unsettled = is_whole && !matches!(update, Ok(Update::Nothing));
        match update {
            Ok(Update::Nothing) if !redrawn && !in_trouble => {}
            Ok(_) => told.send_modify(|told| *told = Told::of(&engine, told.generation + 1)),
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

/// Answers until files changed; nothing once nobody can ask any more. Where files may come without a word (a folder in trouble may be
/// back) it is time to look after half a second in which nobody asked.
fn serve(pages: &Pages<'_>, asks: &Receiver<Ask>, kept: &mut Kept, looks: bool) -> Option<Vec<PathBuf>> {
    let patience = if looks { Duration::from_millis(500) } else { Duration::from_secs(86_400) };
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

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::disallowed_methods)]
mod tests {
    use super::*;

    /// Files that come with a new folder may come before the system watches it: no word is ever said of them.
    #[test]
    fn what_came_without_a_word_beside_a_new_file_is_found() {
        let scratch = tempfile::tempdir().unwrap();
        let (base, elsewhere) = (scratch.path().join("kb"), scratch.path().join("elsewhere"));
        std::fs::create_dir_all(base.join("specs")).unwrap();
        std::fs::create_dir(&elsewhere).unwrap();
        std::fs::write(base.join("shop.yaml"), "title: Depot\n").unwrap();
        let engine = Engine::open(&Disk::new(&base)).unwrap();
        let (say, hear) = watch::channel(Told::of(&engine, 1));
        let (asks, questions) = std::sync::mpsc::channel();
        // Nothing of the base is watched: the only word is the one below.
        let watching = super::super::watch::watch(&elsewhere, |_| ()).unwrap();
        let place = Place { base: base.clone(), watched: base.clone(), prefix: String::new() };
        let thread = std::thread::spawn(move || work(engine, &place, watching, &questions, &say));
        let until = |generation| {
            let end = std::time::Instant::now() + Duration::from_secs(20);
            while hear.borrow().generation < generation {
                assert!(std::time::Instant::now() < end, "nothing was found: {:?}", *hear.borrow());
                std::thread::sleep(Duration::from_millis(5));
            }
        };
        std::fs::write(base.join("specs/a.yaml"), "a: {}\n").unwrap();
        asks.send(Ask::Changed(vec![base.join("specs/a.yaml")])).unwrap();
        until(2);
        std::fs::write(base.join("specs/b.yaml"), "b: {}\n").unwrap();
        until(3);
        drop(asks);
        thread.join().unwrap();
    }
}
