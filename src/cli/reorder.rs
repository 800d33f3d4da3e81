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
use crate::order::written::Written;
use crate::parse::shape::no_id;
use crate::pipeline::{Engine, as_written, best_orders, gains, read_procedure, reorder, rule_levels};

/// Writes it and says so.
///
/// # Errors
/// One sentence: the id is bad or taken, there is no better order to write, or the file can't be written.
pub fn run(one: &One, new: &str, vehicle: VehicleIx, kb: Option<&Path>, output: &Output) -> Result<(), String> {
    let base = &one.tables.base;
    let Some(procedure) = &one.resolved.procedure else { return Ok(()) };
    if let Some(why) = no_id(new) {
        return Err(format!("`{new}` can't name a procedure: {why}"));
    }
    if let Some(there) = base.procedures.find(new) {
        let path = one.loaded.sources.file(base.procedures[there]).path();
        return Err(format!("there is a procedure `{new}` already ({path}), and nothing is overwritten"));
    }
    let source = one.loaded.sources.file(procedure.file);
    let folder = source.path().rsplit_once('/').map_or("procedures", |(folder, _)| folder);
    let path = format!("{folder}/{new}.md");

    let analysis = graph::analyse(base, procedure, Bounds::default());
    let orders = best_orders(&analysis)?;
    if !orders.iter().any(|order| order.better) {
        return Err(as_good(&procedure.id));
    }
    let root = place::base(kb);
    let mut buffers = Memory::default();
    buffers.set(path.clone(), source.text());
    let mut engine = Engine::open(&Overlay { buffers: &buffers, below: &Disk::new(&root) })?;
    let file =
        engine.linted().loaded.sources.find(&path).ok_or_else(|| format!("`{path}` can't stand in this base"))?;
    let text = reorder(&mut engine, file, (base, &one.loaded, &one.resolved), &orders)?;
    let linted = engine.linted();
    let ix = linted.tables.base.procedures.find(new).ok_or_else(|| format!("`{path}` can't stand in this base"))?;
    let again = read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure;
    let again = again.ok_or_else(|| format!("`{path}` can't be read again"))?;
    let anew = graph::analyse(&linted.tables.base, &again, Bounds::default());
    if !gains(&analysis, &anew, &orders) {
        return Err(as_good(&procedure.id));
    }
    emit::new_files(&root, &[(&path, &text)])?;

    let took = match (as_written(&anew, vehicle), as_written(&analysis, vehicle)) {
        (Some(new), Some(old)) => {
            let further = match (percent(&new), percent(&old)) {
                (new, old) if new == old => String::new(),
                (new, old) => format!("; isolated to one cause {new}, {old} before"),
            };
            format!(": {:.1} minutes as written, {:.1} before{further}", new.minutes, old.minutes)
        }
        (Some(new), None) => format!(": {:.1} minutes as written", new.minutes),
        _ => String::new(),
    };
    output.say(&format!("wrote {}{path}{took}", place::prefix(&root)));
    Ok(())
}

/// How often one cause is left.
fn percent(written: &Written) -> String {
    format!("{:.0} %", written.isolation[0] * 100.0)
}

fn as_good(id: &str) -> String {
    format!("no order of `{id}` was found that takes less time or tells more, so nothing was written")
}
