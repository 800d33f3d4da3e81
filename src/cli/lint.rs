//! `ruleout lint`.
//!
//! In: the arguments. Out: findings on standard output, the exit code.

use std::collections::BTreeSet;
use std::path::Path;

use super::args::{FindingsFormat, LintArgs};
use super::output::Output;
use super::progress::Progress;
use super::{fix, place};
use crate::edit::Made;
use crate::load::Disk;
use crate::pipeline::{self, Linted};
use crate::report::{escape, json, text};

/// Runs it.
pub fn run(args: &LintArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(args.base.as_deref().or(kb));
    let busy = Progress::of("checking the knowledge base");
    let prefix = place::prefix(&base);
    let keep = |linted: &mut Linted| only(linted, &base, args);
    let (linted, made) = if args.fix {
        fix::run(&base, keep)?
    } else {
        let mut linted = pipeline::lint(&Disk::new(&base)).map_err(|why| format!("{}: {why}", base.display()))?;
        keep(&mut linted)?;
        (linted, Vec::new())
    };
    drop(busy);
    let told = made.iter().map(|m| line(m, &prefix)).collect::<String>();
    let look = text::Look { colour: output.colour(), notes: args.notes, prefix: &prefix };
    output.result(&match args.format {
        FindingsFormat::Text => {
            let gap = if told.is_empty() { "" } else { "\n" };
            format!("{told}{gap}{}", text::render(&linted.report, &linted.loaded.sources, look))
        }
        FindingsFormat::Json => {
            if !told.is_empty() {
                output.say(told.trim_end());
            }
            json::render(&linted.report, &linted.loaded.sources)
        }
    });
    let summary = linted.report.summary;
    Ok(u8::from(summary.errors > 0 || (args.strict && summary.warnings > 0)))
}

/// `mended[bad-value] kb/procedures/fan.md:12:15: write `below 5 V``.
fn line(made: &Made, prefix: &str) -> String {
    let (at, file) = (made.place, escape(&made.file));
    format!("mended[{}] {prefix}{file}:{}:{}: {}\n", made.rule, at.line, at.column, escape(&made.title))
}

/// Keeps the findings of the named files only.
fn only(linted: &mut Linted, base: &Path, args: &LintArgs) -> Result<(), String> {
    if args.only.is_empty() {
        return Ok(());
    }
    let sources = &linted.loaded.sources;
    let mut wanted = BTreeSet::new();
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
