//! `ruleout tally`.
//!
//! In: the arguments. Out: what the solved cases say of each procedure's shares; with `--write`, the new shares in its file.

use std::path::Path;

use serde_json::{Value, json};

use super::args::{Format, TallyArgs};
use super::output::Output;
use super::place;
use crate::load::Disk;
use crate::model::{CaseCause, NO_FAULT, Procedure};
use crate::order::posterior::{Taught, taught};
use crate::pipeline::{self, rule_levels};
use crate::quantity::number::to_f64;
use crate::resolve::{self, Cx, Resolved, Tables};
use crate::{edit, emit, load};

/// One procedure's cases against its shares.
struct Tally {
    procedure: String,
    jobs: u32,
    rows: Vec<(String, u32, Taught)>,
}

/// Runs it.
pub fn run(args: &TallyArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(kb);
    let loaded = load::load(&Disk::new(&base)).map_err(|why| format!("{}: {why}", base.display()))?;
    let rules = rule_levels();
    let tables = resolve::tables(&loaded, &rules);
    let mut tallies = Vec::new();
    for ix in tables.base.procedures.indexes() {
        let resolved = pipeline::read_procedure(&loaded, &tables, &rules, ix);
        let Some(procedure) = &resolved.procedure else { continue };
        let mut cx = Cx::new(&loaded, &rules);
        let Some(tally) = tally(&mut cx, &tables, procedure) else { continue };
        if args.write {
            write(&base, &loaded, &resolved, &tally)?;
        }
        tallies.push(tally);
    }
    output.result(&match args.format {
        Format::Json => format!("{:#}\n", json!(tallies.iter().map(object).collect::<Vec<_>>())),
        Format::Text => tallies.iter().map(text).collect::<Vec<_>>().join("\n"),
    });
    if tallies.is_empty() {
        output.say("no procedure has a solved case yet: nothing to tally");
    }
    Ok(0)
}

/// Counts the confirmed causes of a procedure; nothing where it has no case. `no-fault` takes part only where it has a share.
fn tally(cx: &mut Cx<'_>, tables: &Tables, procedure: &Procedure) -> Option<Tally> {
    let own = tables.cases.iter().filter(|c| c.procedure == procedure.ix);
    let cases: Vec<_> = own.filter_map(|c| resolve::case(cx, c, &tables.base, procedure)).collect();
    let given: Vec<f64> =
        procedure.causes.iter().filter_map(|(_, _, c)| c.share.as_ref().map(|s| to_f64(&s.value))).collect();
    let mean = if given.is_empty() { 1.0 } else { given.iter().sum::<f64>() / given.len() as f64 };
    let listed: Vec<(String, f64)> = procedure
        .causes
        .iter()
        .filter(|(_, id, c)| *id != NO_FAULT || c.share.is_some())
        .map(|(_, id, c)| (id.to_owned(), c.share.as_ref().map_or(mean, |s| to_f64(&s.value))))
        .collect();
    let cause_of = |case: &crate::model::Case| match case.cause.value {
        CaseCause::Cause(cause) => procedure.causes.id(cause).to_owned(),
        CaseCause::NoFault => NO_FAULT.to_owned(),
    };
    let counts: Vec<u32> =
        listed.iter().map(|(id, _)| cases.iter().filter(|c| cause_of(c) == *id).count() as u32).collect();
    let jobs: u32 = counts.iter().sum();
    let shares: Vec<f64> = listed.iter().map(|(_, share)| *share).collect();
    let rows = listed.into_iter().zip(&counts).zip(taught(&shares, &counts)).map(|(((id, _), n), t)| (id, *n, t));
    (jobs > 0).then(|| Tally { procedure: procedure.id.clone(), jobs, rows: rows.collect() })
}

fn write(base: &Path, loaded: &load::Loaded, resolved: &Resolved, tally: &Tally) -> Result<(), String> {
    let (Some(procedure), Some(tree)) = (&resolved.procedure, &resolved.tree) else { return Ok(()) };
    let source = loaded.sources.file(procedure.file);
    let new: Vec<(String, u32)> = tally.rows.iter().map(|(id, _, t)| (id.clone(), percent(t.share))).collect();
    let edits = edit::shares(tree, source.text(), &new);
    let text =
        edit::apply(source.text(), &edits).map_err(|_| format!("{}: the shares can't be edited", source.path()))?;
    if text == source.text() { Ok(()) } else { emit::replace_file(&base.join(source.path()), text.as_bytes()) }
}

/// A share of 1 in parts of 100.
#[allow(clippy::cast_sign_loss, reason = "a share is not negative")]
fn percent(share: f64) -> u32 {
    (share * 100.0).round() as u32
}

fn object(tally: &Tally) -> Value {
    let causes: Vec<Value> = tally
        .rows
        .iter()
        .map(|(id, jobs, t)| {
            json!({"cause": id, "jobs": jobs, "authored": t.authored, "share": t.share, "low": t.low, "high": t.high,
                   "against": t.against})
        })
        .collect();
    json!({"procedure": tally.procedure, "jobs": tally.jobs, "causes": causes})
}

fn text(tally: &Tally) -> String {
    let width = tally.rows.iter().map(|(id, ..)| id.len()).max().unwrap_or(0);
    let jobs = if tally.jobs == 1 { "1 job".to_owned() } else { format!("{} jobs", tally.jobs) };
    let mut text = format!("{}, from {jobs}\n", tally.procedure);
    for (id, count, t) in &tally.rows {
        let said = if t.against { "  the cases speak against the share" } else { "" };
        text.push_str(&format!(
            "  {id:width$}  {count:3}  authored {:3.0} of 100, would write {:3.0}, between {:.0} and {:.0} of 100{said}\n",
            t.authored * 100.0,
            t.share * 100.0,
            t.low * 100.0,
            t.high * 100.0
        ));
    }
    text
}
