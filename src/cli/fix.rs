//! `lint --fix`: the safe mends, made in place.
//!
//! In: a base on disk, and which of its findings count. Out: the base as it is afterwards, judged again, and what was done.
//! Nothing is written before all mending is done; then all files change, or none.

use std::path::Path;

use super::rewrite::{self, Rewritten};
use crate::edit::{self, Made};
use crate::load::{Disk, Files as _, Memory, Overlay};
use crate::pipeline::{self, Linted};

/// How often the base is judged anew: each round makes all mends that don't touch, so a few are enough.
const ROUNDS: usize = 24;

/// Mends until nothing safe is left, then writes.
///
/// # Errors
/// The base can't be read, a file can't be written, or one changed meanwhile.
pub fn run(
    base: &Path,
    mut keep: impl FnMut(&mut Linted) -> Result<(), String>,
) -> Result<(Linted, Vec<Made>), String> {
    let disk = Disk::new(base);
    let mut buffers = Memory::default();
    let mut made = Vec::new();
    let mut lint = |buffers: &Memory| {
        let files = Overlay { buffers, below: &disk };
        let mut linted = pipeline::lint(&files).map_err(|why| format!("{}: {why}", base.display()))?;
        keep(&mut linted).map(|()| linted)
    };
    let first = lint(&buffers)?;
    let mut round = edit::fix(&first.report.findings, &first.loaded.sources);
    if round.texts.is_empty() {
        return Ok((first, made));
    }
    let mut rounds = 0;
    let last = loop {
        made.append(&mut round.made);
        for (path, text) in std::mem::take(&mut round.texts) {
            buffers.set(path, text);
        }
        let next = lint(&buffers)?;
        round = edit::fix(&next.report.findings, &next.loaded.sources);
        rounds += 1;
        if round.texts.is_empty() || rounds == ROUNDS {
            break next;
        }
    };
    let mut new = Vec::new();
    for path in buffers.list()? {
        let old = first.loaded.sources.find(&path).map(|id| first.loaded.sources.file(id).text().as_bytes());
        let bytes = buffers.get(&path).unwrap_or_default();
        if old != Some(bytes) {
            new.push(Rewritten { old: old.unwrap_or_default().to_vec(), new: bytes.to_vec(), path });
        }
    }
    rewrite::write(base, new)?;
    Ok((last, made))
}
