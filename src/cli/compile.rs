//! `ruleout compile`.
//!
//! In: the arguments. Out: the findings, then the site in its folder; the exit code.

use std::path::{Path, PathBuf};

use super::args::CompileArgs;
use super::output::Output;
use super::place;
use super::progress::Progress;
use crate::load::Disk;
use crate::report::{escape, text};
use crate::{pipeline, site};

/// Runs it.
pub fn run(args: &CompileArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(args.base.as_deref().or(kb));
    let files = Disk::new(&base);
    let busy = Progress::of("checking the knowledge base");
    let linted = pipeline::lint(&files).map_err(|why| format!("{}: {why}", base.display()))?;
    drop(busy);
    let prefix = place::prefix(&base);
    let look = text::Look { colour: output.colour(), notes: args.notes, prefix: &prefix };
    output.result(&text::render(&linted.report, &linted.loaded.sources, look));
    let summary = linted.report.summary;
    if summary.errors > 0 || (args.strict && summary.warnings > 0) {
        output.say("nothing was written: mend the findings above first");
        return Ok(1);
    }
    let out = args.out.clone().unwrap_or_else(|| beside(&base));
    if let Some(why) = files.no_room(&out) {
        let shown = out.display();
        return Err(format!("cannot write the site to `{shown}`: {why}; give another folder with --out"));
    }
    let busy = Progress::of("writing the site");
    let written = site::write(&files, &linted, &out)?;
    drop(busy);
    super::leave(linted);
    let changed = written.files - written.unchanged;
    let count = |n: usize| if n == 1 { "1 file".to_owned() } else { format!("{n} files") };
    output.result(&format!(
        "wrote {} of {} to {} ({} unchanged); open {}\n",
        count(changed),
        written.files,
        shown(&out),
        written.unchanged,
        shown(&out.join("index.html"))
    ));
    Ok(0)
}

/// A path on one line.
fn shown(path: &Path) -> String {
    escape(&path.display().to_string())
}

/// `site-out` beside the base.
fn beside(base: &Path) -> PathBuf {
    let named = base.file_name().is_some();
    if named { base.with_file_name("site-out") } else { base.join("..").join("site-out") }
}
