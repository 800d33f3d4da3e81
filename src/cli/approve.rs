//! `ruleout approve`.
//!
//! In: the arguments. Out: the record of the review in the procedure's file; every other byte stays.

use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use super::args::ApproveArgs;
use super::output::Output;
use super::rewrite::{self, Rewritten};
use super::{one, place};
use crate::model::meaning;
use crate::{edit, resolve};

/// Runs it.
pub fn run(args: &ApproveArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let on = args.on.clone().unwrap_or_else(today);
    if !resolve::is_date(&on) {
        return Err(format!("expected a date as 2031-05-04, found `{on}`"));
    }
    if args.by.trim().is_empty() {
        return Err("expected initials behind --by, found nothing".into());
    }
    if args.by.trim().contains(|c: char| c.is_control() || c == '\u{feff}') {
        return Err("expected initials behind --by, found a sign that no YAML text holds".into());
    }
    let one = one::read(kb, &args.procedure)?;
    if !one.is_sound(output) {
        return Ok(1);
    }
    let (Some(procedure), Some(tree)) = (&one.resolved.procedure, &one.resolved.tree) else { return Ok(1) };
    let source = one.loaded.sources.file(procedure.file);
    let digest = meaning::digest(&one.tables.base, procedure);
    let record = edit::review(tree, source.text(), args.by.trim(), &on, &digest);
    let text = edit::apply(source.text(), &[record]).map_err(|_| "the front matter can't be edited".to_owned())?;
    let new = Rewritten { path: source.path().to_owned(), old: source.text().into(), new: text.into_bytes() };
    rewrite::write(&place::base(kb), vec![new])?;
    output.result(&format!(
        "{}{}: reviewed by {}, on {on}, of {digest}\n",
        one.prefix(),
        source.path(),
        args.by.trim()
    ));
    Ok(0)
}

/// Today's date in UTC, from days since 1970 (the civil calendar's era arithmetic: 400 years have 146,097 days).
fn today() -> String {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs());
    let days = seconds / 86_400 + 719_468; // days since 1 March of year 0
    let era = days / 146_097;
    let day_of_era = days % 146_097;
    let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted = (5 * day_of_year + 2) / 153; // months since March
    let day = day_of_year - (153 * shifted + 2) / 5 + 1;
    let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}
