//! `ruleout schema`.
//!
//! In: a kind of file or nothing. Out: its JSON Schema, or one that holds all.

use super::args::SchemaArgs;
use super::output::Output;
use crate::parse::near::nearest;
use crate::parse::schema::{self, KINDS};

/// Runs it.
pub fn run(args: &SchemaArgs, output: &Output) -> Result<u8, String> {
    let schema = match &args.kind {
        None => schema::all(),
        Some(name) => {
            let kind = KINDS.iter().find(|k| k.name == name);
            let kind = kind.ok_or_else(|| {
                let names: Vec<&str> = KINDS.iter().map(|k| k.name).collect();
                let hint = nearest(name, names.iter().copied())
                    .map_or_else(|| format!("the kinds are {}", names.join(", ")), |n| format!("did you mean `{n}`?"));
                format!("there is no schema `{name}`: {hint}")
            })?;
            schema::of(kind)
        }
    };
    output.json(&format!("{schema:#}\n"));
    Ok(0)
}
