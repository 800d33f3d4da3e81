//! `ruleout compare`.
//!
//! In: two folders or git revisions. Out: what changed in meaning between them, on standard output; ends with 0.

use std::path::{Component, Path};

use super::args::{CompareArgs, ComparisonFormat};
use super::output::Output;
use super::place;
use super::progress::Progress;
use crate::compare::{self, Side, json, markdown, text};
use crate::load::{Disk, Revision};

/// Runs it.
pub fn run(args: &CompareArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let busy = Progress::of("comparing");
    let old = side(&args.old, kb, output)?;
    let new = side(&args.new, kb, output)?;
    let comparison = compare::compare(&old, &new);
    drop(busy);
    match args.format {
        ComparisonFormat::Text => output.result(&text::render(&comparison)),
        ComparisonFormat::Markdown => output.result(&markdown::render(&comparison)),
        ComparisonFormat::Json => output.json(&json::render(&comparison)),
    }
    Ok(0)
}

/// A folder of that name, else a revision of the knowledge base around here.
fn side(name: &str, kb: Option<&Path>, output: &Output) -> Result<Side, String> {
    let folder = Path::new(name);
    if folder.is_dir() {
        let plain = folder.components().all(|c| matches!(c, Component::Normal(_)));
        if plain && Revision::is_there(&place::base(kb), name) {
            output.say(&format!(
                "note: `{name}` is a folder and a git revision: the folder is taken (write `{name}~0` for the revision)"
            ));
        }
        return Side::read(name, &Disk::new(folder));
    }
    if folder.exists() {
        return Err(format!("expected a folder or a git revision, found the file `{name}`"));
    }
    Side::read(name, &Revision::read(&place::base(kb), name)?)
}
