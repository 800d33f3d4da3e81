//! Saves, noticed.
//!
//! In: the folder of a base. Out: the paths that changed, some milliseconds after the last of several saves. The folder is
//! watched, not its files, so that an editor may write beside a file and rename.

use std::path::{Path, PathBuf};
use std::time::Duration;

use notify_debouncer_full::notify::{self, EventKind, RecursiveMode, event::AccessKind, event::AccessMode};
use notify_debouncer_full::{DebounceEventResult, Debouncer, RecommendedCache, new_debouncer};

/// How long a file must be left alone before it counts as saved: editors write, cut and rename in a few milliseconds.
const QUIET: Duration = Duration::from_millis(30);

/// Watches as long as it is held.
pub type Watch = Debouncer<notify::RecommendedWatcher, RecommendedCache>;

/// Hands on the paths that changed.
///
/// # Errors
/// One sentence, where the system can't watch the folder.
pub fn watch(folder: &Path, changed: impl Fn(Vec<PathBuf>) + Send + 'static) -> Result<Watch, String> {
    let fault = |error: notify::Error| format!("cannot watch the folder `{}`: {error}", folder.display());
    let root = folder.to_owned();
    let tell = move |result: DebounceEventResult| match result {
        Ok(events) => {
            let of_interest = events.into_iter().filter(|e| writes(e.kind)).flat_map(|e| e.event.paths);
            let mut paths: Vec<PathBuf> = of_interest.filter(|path| !is_hidden(&root, path)).collect();
            paths.sort();
            paths.dedup();
            if !paths.is_empty() {
                changed(paths);
            }
        }
        // The system lost count: look at everything.
        Err(_) => changed(Vec::new()),
    };
    let mut watch = new_debouncer(QUIET, Some(QUIET / 3), tell).map_err(fault)?;
    watch.watch(folder, RecursiveMode::Recursive).map_err(fault)?;
    Ok(watch)
}

/// Watches a folder anew that was away. Where that fails, saves go unnoticed as they did while it was away.
pub fn again(watch: &mut Watch, folder: &Path) {
    let _ = watch.unwatch(folder);
    let _ = watch.watch(folder, RecursiveMode::Recursive);
}

/// Whether an event can mean another text; our own reading is none.
fn writes(kind: EventKind) -> bool {
    !matches!(kind, EventKind::Access(access) if access != AccessKind::Close(AccessMode::Write))
}

/// Files whose name starts with a dot (an editor's own) are not read, nor is what lies in such a folder.
fn is_hidden(root: &Path, path: &Path) -> bool {
    let below = path.strip_prefix(root).unwrap_or(path);
    below.components().any(|part| part.as_os_str().to_string_lossy().starts_with('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hidden_files_and_reading_are_no_saves() {
        let root = Path::new("/a/.b/kb");
        assert!(
            is_hidden(root, Path::new("/a/.b/kb/specs/.x.swp")) && is_hidden(root, Path::new("/a/.b/kb/.git/HEAD"))
        );
        assert!(!is_hidden(root, Path::new("/a/.b/kb/specs/x.yaml")));
        assert!(!writes(EventKind::Access(AccessKind::Open(AccessMode::Any))));
        assert!(writes(EventKind::Access(AccessKind::Close(AccessMode::Write))) && writes(EventKind::Any));
    }
}
