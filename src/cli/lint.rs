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
use crate::emit;
use crate::load::{self, Disk};
use crate::pipeline::{self, Linted};
use crate::report::fingerprint::Fingerprint;
use crate::report::known::{self, Known};
use crate::report::{escape, github, json, sarif, text};

/// Runs it.
pub fn run(args: &LintArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(args.base.as_deref().or(kb));
    let prefix = place::prefix(&base);
    let known = args.since.as_deref().map(known_findings).transpose()?;
    let (mut record, mut gone) = (String::new(), Vec::new());
    let keep = |linted: &mut Linted| {
        let (report, sources) = (&mut linted.report, &linted.loaded.sources);
        if args.record.is_some() {
            record = known::record(&report.findings, sources);
        }
        if let Some(known) = &known {
            gone = known.leave_out(report, sources);
        }
        only(linted, &base, args)
    };
    let busy = Progress::of("checking the knowledge base");
    let (linted, made) = if args.fix { fix::run(&base, keep)? } else { judged(&base, keep)? };
    drop(busy);
    if let Some(file) = &args.record {
        // Nobody's work is written over by a slip of the command line.
        let ours = |text: String| text.trim().is_empty() || known::is_record(&text);
        if file.is_file() && !load::text_file(file).is_ok_and(ours) {
            return Err(format!(
                "cannot write the record into `{}`: the file is there and is no record; give another name",
                file.display()
            ));
        }
        emit::replace_file(file, record.as_bytes())?;
        let count = record.lines().count() - 1;
        let (noun, file) = (if count == 1 { "finding" } else { "findings" }, file.display());
        output.say(&format!("recorded {count} {noun} in {file}"));
    }
    for print in &gone {
        output.say(&format!("note: a known finding is gone, take it out of the record: {}", named(print)));
    }
    let told = made.iter().map(|m| line(m, &prefix)).collect::<String>();
    if args.format != FindingsFormat::Text && !told.is_empty() {
        output.say(told.trim_end());
    }
    let (report, sources) = (&linted.report, &linted.loaded.sources);
    let look = text::Look { colour: output.colour(), notes: args.notes, prefix: &prefix };
    match args.format {
        FindingsFormat::Text if told.is_empty() => output.result(&text::render(report, sources, look)),
        FindingsFormat::Text => output.result(&format!("{told}\n{}", text::render(report, sources, look))),
        FindingsFormat::Json => output.json(&json::render(report, sources)),
        FindingsFormat::Sarif => output.json(&sarif::render(report, sources, &prefix)),
        FindingsFormat::Github => output.result(&github::render(report, sources, &prefix, args.notes)),
    }
    let summary = report.summary;
    super::leave(linted);
    if matches!(args.format, FindingsFormat::Sarif | FindingsFormat::Github) {
        output.say(&crate::report::summary(&summary, args.notes));
    }
    Ok(u8::from(summary.errors > 0 || (args.strict && summary.warnings > 0)))
}

fn judged(base: &Path, mut keep: impl FnMut(&mut Linted) -> Result<(), String>) -> Result<(Linted, Vec<Made>), String> {
    let mut linted = pipeline::lint(&Disk::new(base)).map_err(|why| format!("{}: {why}", base.display()))?;
    keep(&mut linted)?;
    Ok((linted, Vec::new()))
}

fn known_findings(file: &Path) -> Result<Known, String> {
    let fault = |why: String| format!("cannot read the record `{}`: {why}", file.display());
    known::read(&load::text_file(file).map_err(fault)?).map_err(fault)
}

/// `no-fix in lamp, step look, at "belt"`.
fn named(print: &Fingerprint) -> String {
    let step = if print.step.is_empty() { String::new() } else { format!(", step {}", print.step) };
    let subject = if print.subject.is_empty() { String::new() } else { format!(", at `{}`", print.subject) };
    escape(&format!("{} in {}{step}{subject}", print.rule, print.place))
}

/// One mend in words: the rule, the place, what was done.
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
