//! `ruleout export`.
//!
//! In: the arguments. Out: the decision graph on standard output.

use std::path::Path;

use super::args::{ExportArgs, GraphFormat};
use super::one;
use super::output::Output;
use crate::graph::arrows::Arrows;
use crate::graph::export::{dot, export};

/// Runs it.
pub fn run(args: &ExportArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let one = one::read(kb, &args.procedure)?;
    if !one.is_sound(output) {
        return Ok(1);
    }
    let Some(procedure) = &one.resolved.procedure else { return Ok(1) };
    let base = &one.tables.base;
    let graph = export(base, procedure, &Arrows::new(base, procedure));
    match args.format {
        GraphFormat::Dot => output.result(&dot(&graph)),
        GraphFormat::Json => {
            let json = serde_json::to_string_pretty(&graph).map_err(|e| e.to_string())?;
            output.json(&format!("{json}\n"));
        }
    }
    Ok(0)
}
