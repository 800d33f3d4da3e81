//! `ruleout tally`.
//!
//! In: the arguments. Out: what the solved cases say of each procedure's shares; with `--write`, the new shares in its file.

use std::path::Path;

use serde_json::{Value, json};

use super::args::{Format, TallyArgs};
use super::output::Output;
use super::place;
use super::rewrite::{self, Rewritten};
use crate::load::Disk;
use crate::model::{Case, CaseCause, NO_FAULT, Procedure, Set, Vehicle};
use crate::order::posterior::{Taught, taught};
use crate::pipeline::{self, rule_levels};
use crate::quantity::number::to_f64;
use crate::resolve::{self, Cx, Resolved, Tables};
use crate::{edit, load};

/// One procedure's cases against its shares.
struct Tally {
    procedure: String,
    whole: Counted,
    /// Groups of vehicles that have cases, by id, each with its vehicles that the procedure is for.
    groups: Vec<(String, Set<Vehicle>, Counted)>,
    /// The vehicles that the procedure is for.
    applies: Set<Vehicle>,
}

/// How often each cause was the one, beside its share.
struct Counted {
    jobs: u32,
    rows: Vec<(String, u32, Taught)>,
}

/// Runs it.
pub fn run(args: &TallyArgs, kb: Option<&Path>, output: &Output) -> Result<u8, String> {
    let base = place::base(kb);
    let loaded = load::load(&Disk::new(&base)).map_err(|why| format!("{}: {why}", base.display()))?;
    let rules = rule_levels();
    let tables = resolve::tables(&loaded, &rules);
    let (mut tallies, mut new) = (Vec::new(), Vec::new());
    for ix in tables.base.procedures.indexes() {
        let resolved = pipeline::read_procedure(&loaded, &tables, &rules, ix);
        let Some(procedure) = &resolved.procedure else { continue };
        let mut cx = Cx::new(&loaded, &rules);
        let Some(tally) = tally(&mut cx, &tables, procedure) else { continue };
        if args.write {
            new.extend(written(&loaded, &resolved, &tally)?);
        }
        tallies.push(tally);
    }
    rewrite::write(&base, new)?;
    match args.format {
        Format::Json => output.json(&format!("{:#}\n", json!(tallies.iter().map(object).collect::<Vec<_>>()))),
        Format::Text => output.result(&tallies.iter().map(text).collect::<Vec<_>>().join("\n")),
    }
    if tallies.is_empty() {
        output.say("no procedure has a solved case yet: nothing to tally");
    }
    Ok(0)
}

/// Counts the confirmed causes of a procedure, of all vehicles and group by group; nothing where it has no case.
fn tally(cx: &mut Cx<'_>, tables: &Tables, procedure: &Procedure) -> Option<Tally> {
    let own = tables.cases.iter().filter(|c| c.procedure == procedure.ix);
    let cases: Vec<Case> = own.filter_map(|c| resolve::case(cx, c, &tables.base, procedure)).collect();
    let whole = count(procedure, &cases, &procedure.applies)?;
    let groups = tables.base.groups.iter().filter_map(|(_, id, vehicles)| {
        let vehicles = vehicles.and(&procedure.applies);
        let counted = count(procedure, &cases, &vehicles)?;
        Some((id.to_owned(), vehicles, counted))
    });
    let groups = groups.collect();
    Some(Tally { procedure: procedure.id.clone(), whole, groups, applies: procedure.applies.clone() })
}

/// Counts the cases on some vehicles, with the causes that exist on one of them; nothing where there is none. `no-fault` takes part only
/// where it has a share.
fn count(procedure: &Procedure, cases: &[Case], vehicles: &Set<Vehicle>) -> Option<Counted> {
    let given: Vec<f64> =
        procedure.causes.iter().filter_map(|(_, _, c)| c.share.as_ref().map(|s| to_f64(&s.value))).collect();
    let mean = if given.is_empty() { 1.0 } else { given.iter().sum::<f64>() / given.len() as f64 };
    let listed: Vec<(String, f64)> = procedure
        .causes
        .iter()
        .filter(|(_, id, c)| (*id != NO_FAULT || c.share.is_some()) && c.on.meets(vehicles))
        .map(|(_, id, c)| (id.to_owned(), c.share.as_ref().map_or(mean, |s| to_f64(&s.value))))
        .collect();
    let cause_of = |case: &Case| match case.cause.value {
        CaseCause::Cause(cause) => procedure.causes.id(cause).to_owned(),
        CaseCause::NoFault => NO_FAULT.to_owned(),
    };
    let here: Vec<&Case> = cases.iter().filter(|c| vehicles.contains(c.vehicle)).collect();
    let counts: Vec<u32> =
        listed.iter().map(|(id, _)| here.iter().filter(|c| cause_of(c) == *id).count() as u32).collect();
    let jobs: u32 = counts.iter().sum();
    let shares: Vec<f64> = listed.iter().map(|(_, share)| *share).collect();
    let rows = listed.into_iter().zip(&counts).zip(taught(&shares, &counts)).map(|(((id, _), n), t)| (id, *n, t));
    (jobs > 0).then(|| Counted { jobs, rows: rows.collect() })
}

/// The procedure's file with its new shares, where they differ.
fn written(loaded: &load::Loaded, resolved: &Resolved, tally: &Tally) -> Result<Option<Rewritten>, String> {
    let (Some(procedure), Some(tree)) = (&resolved.procedure, &resolved.tree) else { return Ok(None) };
    let source = loaded.sources.file(procedure.file);
    let rows = tally.whole.rows.iter();
    let new: Vec<(String, String)> = rows.map(|(id, _, t)| (id.clone(), parts(t.share))).collect();
    let edits = edit::shares(tree, source.text(), &new);
    let text =
        edit::apply(source.text(), &edits).map_err(|_| format!("{}: the shares can't be edited", source.path()))?;
    let new = Rewritten { path: source.path().to_owned(), old: source.text().into(), new: text.into_bytes() };
    Ok((new.new != new.old).then_some(new))
}

/// A share of 1 in parts of 100, to one place: never nothing of something.
fn parts(share: f64) -> String {
    let tenths = (share * 1000.0).round();
    let tenths = if share > 0.0 { tenths.max(1.0) } else { tenths };
    let text = format!("{:.1}", tenths / 10.0);
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn object(tally: &Tally) -> Value {
    let groups: Vec<Value> = tally
        .groups
        .iter()
        .map(|(id, _, counted)| json!({"group": id, "jobs": counted.jobs, "causes": causes(counted)}))
        .collect();
    json!({"procedure": tally.procedure, "jobs": tally.whole.jobs, "causes": causes(&tally.whole), "groups": groups})
}

fn causes(counted: &Counted) -> Vec<Value> {
    let row = |(id, jobs, t): &(String, u32, Taught)| {
        json!({"cause": id, "jobs": jobs, "authored": t.authored, "share": t.share, "low": t.low, "high": t.high,
               "against": t.against})
    };
    counted.rows.iter().map(row).collect()
}

/// The whole, then a table for each group that is not all of the vehicles; groups of the same vehicles share one.
fn text(tally: &Tally) -> String {
    let mut text = table(&tally.procedure, &tally.whole);
    let mut told: Vec<&Set<Vehicle>> = vec![&tally.applies];
    for (_, vehicles, counted) in &tally.groups {
        if !told.contains(&vehicles) {
            told.push(vehicles);
            let same = tally.groups.iter().filter(|(_, other, _)| other == vehicles);
            let ids: Vec<&str> = same.map(|(id, ..)| id.as_str()).collect();
            text.push_str(&table(&format!("{} on {}", tally.procedure, ids.join(", ")), counted));
        }
    }
    text
}

fn table(title: &str, counted: &Counted) -> String {
    let width = counted.rows.iter().map(|(id, ..)| id.len()).max().unwrap_or(0);
    let jobs = if counted.jobs == 1 { "1 job".to_owned() } else { format!("{} jobs", counted.jobs) };
    let mut text = format!("{title}, from {jobs}\n");
    for (id, count, t) in &counted.rows {
        let said = if t.against { "  the cases speak against the share" } else { "" };
        text.push_str(&format!(
            "  {id:width$}  {count:3}  authored {:3.0} of 100, would write {:>4}, between {:.0} and {:.0} of 100{said}\n",
            t.authored * 100.0,
            parts(t.share),
            t.low * 100.0,
            t.high * 100.0
        ));
    }
    text
}
