//! `ruleout order PROCEDURE --write NEW`.
//!
//! In: a procedure and the id of the new one. Out: a file `NEW.md` beside the old one, in the best order.

use std::path::Path;

use super::one::One;
use super::output::Output;
use super::place;
use crate::emit;
use crate::graph::{self, Bounds};
use crate::load::{Disk, Memory, Overlay};
use crate::model::VehicleIx;
use crate::order::best::LIGHT;
use crate::order::weigh::weigh;
use crate::parse::shape::is_id;
use crate::pipeline::{Engine, read_procedure, reorder, rule_levels};

/// Writes it and says so.
///
/// # Errors
/// One sentence: the id is bad or taken, there is no better order to write, or the file can't be written.
pub fn run(one: &One, new: &str, vehicle: VehicleIx, kb: Option<&Path>, output: &Output) -> Result<(), String> {
    let base = &one.tables.base;
    let Some(procedure) = &one.resolved.procedure else { return Ok(()) };
    if !is_id(new) {
        return Err(format!("`{new}` is no id: write a-z, 0-9 and -, beginning with a letter or a digit"));
    }
    if let Some(there) = base.procedures.find(new) {
        let path = one.loaded.sources.file(base.procedures[there]).path();
        return Err(format!("there is a procedure `{new}` already ({path}), and nothing is overwritten"));
    }
    let source = one.loaded.sources.file(procedure.file);
    let folder = source.path().rsplit_once('/').map_or("procedures", |(folder, _)| folder);
    let path = format!("{folder}/{new}.md");

    let root = place::base(kb);
    let mut buffers = Memory::default();
    buffers.set(path.clone(), source.text());
    let mut engine = Engine::open(&Overlay { buffers: &buffers, below: &Disk::new(&root) })?;
    let file =
        engine.linted().loaded.sources.find(&path).ok_or_else(|| format!("`{path}` can't stand in this base"))?;
    let written = reorder(&mut engine, file, base, &one.loaded, &one.resolved)?;
    emit::new_files(&root, &[(&path, &written.text)])?;

    let shown = format!("{}{path}", place::prefix(&root));
    let linted = engine.linted();
    let minutes = linted.tables.base.procedures.find(new).and_then(|ix| {
        let again = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure?;
        let analysis = graph::analyse(&linted.tables.base, &again, Bounds::default());
        weigh(&analysis, vehicle, LIGHT)?.written.map(|w| w.minutes)
    });
    let took = minutes.map_or_else(String::new, |m| format!(": {m:.1} minutes as written"));
    output.say(&format!("wrote {shown}{took}"));
    if let Some(first) = written.findings.first() {
        let count = written.findings.len();
        output.say(&format!("{count} of its findings are new, the first: {}", first.message));
    }
    Ok(())
}
