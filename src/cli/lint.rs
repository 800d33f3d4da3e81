//! `ruleout lint`.
//!
//! In: the arguments. Out: findings on standard output, the exit code.

use std::path::Path;

use super::args::{Format, LintArgs};
use super::output::Output;
use super::place;
use crate::load::Disk;
use crate::pipeline::{self, Linted};
use crate::report::{json, text};

/// Runs it.
pub fn run(args: &LintArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(args.base.as_deref().or(kb));
    let mut linted = pipeline::lint(&Disk::new(&base)).map_err(|why| format!("{}: {why}", base.display()))?;
    only(&mut linted, &base, args)?;
    let prefix = place::prefix(&base);
    let look = text::Look { colour: output.colour(), notes: args.notes, prefix: &prefix };
    output.result(&match args.format {
        Format::Text => text::render(&linted.report, &linted.loaded.sources, look),
        Format::Json => json::render(&linted.report, &linted.loaded.sources),
    });
    let summary = linted.report.summary;
    Ok(u8::from(summary.errors > 0 || (args.strict && summary.warnings > 0)))
}

/// Keeps the findings of the named files only.
fn only(linted: &mut Linted, base: &Path, args: &LintArgs) -> Result<(), String> {
    if args.only.is_empty() {
        return Ok(());
    }
    let sources = &linted.loaded.sources;
    let mut wanted = std::collections::BTreeSet::new();
    for file in &args.only {
        let path = place::within(base, file);
        let id = sources.find(&path).ok_or_else(|| {
            let near = crate::parse::near::nearest(&path, sources.iter().map(|(_, f)| f.path()));
            let hint = near.map(|n| format!(": did you mean `{n}`?")).unwrap_or_default();
            format!("there is no file `{}` in the knowledge base{hint}", file.display())
        })?;
        wanted.insert(id);
    }
    linted.report.findings.retain(|f| wanted.contains(&f.span.file));
    linted.report.recount();
    Ok(())
}
