//! A procedure written anew in its best order, tried until it lints as the old one does.
//!
//! In: a base in which the new file stands (with any text), and the old procedure. Out: [`Rewritten`].

use std::collections::BTreeMap;

use super::{Engine, read_procedure, rule_levels};
use crate::edit::reorder::{At, Lacking, OnClass, Reorder, Text, Trims};
use crate::finding::{Finding, Level, RuleName};
use crate::graph;
use crate::load::Loaded;
use crate::model::{Base, NO_FAULT, Procedure, Way};
use crate::order::best::THOROUGH;
use crate::order::named::Named;
use crate::order::weigh::weigh;
use crate::resolve::Resolved;
use crate::source::FileId;

/// The new text, and what is told of it that was not told of the old one.
#[derive(Clone, Debug)]
pub struct Rewritten {
    /// The whole file.
    pub text: String,
    /// Errors and warnings that are new.
    pub findings: Vec<Finding>,
}

/// How often a text is mended before it is given up; each round takes out at least one result or allowance.
const ROUNDS: usize = 100;

/// Writes a procedure in its best order. `engine` holds a base in which its file stands under the same path, and the `new` file;
/// `base` and `resolved` are of the same files.
///
/// # Errors
/// One sentence: there is no best order, or the text is not laid out so that it can be written anew.
pub fn reorder(
    engine: &mut Engine,
    new: FileId,
    base: &Base,
    loaded: &Loaded,
    resolved: &Resolved,
) -> Result<Rewritten, String> {
    let (Some(procedure), Some(tree)) = (&resolved.procedure, &resolved.tree) else {
        return Err("the procedure could not be read".into());
    };
    let source = loaded.sources.file(procedure.file);
    let old = engine.linted().loaded.sources.find(source.path()).ok_or("its file is gone")?;
    let analysis = graph::analyse(base, procedure, graph::Bounds::default());
    let mut orders = Vec::new();
    for (class, _) in &analysis.classes {
        let Some(weighed) = weigh(&analysis, class.one, THOROUGH) else { continue };
        if let Err(why) = &weighed.best {
            return Err(format!("the best order of `{}` was not worked out: {why}", procedure.id));
        }
        let order = weighed.order().filter(Named::is_whole);
        let order =
            order.ok_or_else(|| format!("the order of `{}` has too many ways to be written out", procedure.id))?;
        orders.push(OnClass { class, order });
    }
    let write = Reorder::new(base, procedure, source.text(), tree, &orders)
        .map_err(|why| format!("`{}` can't be written in another order: {why}", procedure.id))?;
    tried(engine, old, new, &write)
}

fn tried(engine: &mut Engine, old: FileId, new: FileId, reorder: &Reorder<'_>) -> Result<Rewritten, String> {
    let mut told: BTreeMap<RuleName, usize> = BTreeMap::new();
    for finding in grave(engine, old) {
        *told.entry(finding.rule).or_default() += 1;
    }
    let mut trial = Trial { engine, new, reorder, told };
    let mut trims = Trims::default();
    let (mut text, mut findings) = trial.settle(&mut trims)?;
    // the ways of poorer bays: as the author meant them, where that proves
    for at in text.lacking.clone() {
        for lacking in [Lacking::Moved, Lacking::Copied] {
            let mut tried = trims.clone();
            tried.lacking.insert(at, lacking);
            let (other, more) = trial.settle(&mut tried)?;
            if more.len() <= findings.len() && other.text != text.text {
                (trims, text, findings) = (tried, other, more);
                break;
            }
        }
    }
    // the engine holds what is handed out
    trial.engine.replace(vec![(new, text.text.as_str().into())]);
    Ok(Rewritten { text: text.text, findings })
}

/// Errors and warnings of a file.
fn grave(engine: &Engine, file: FileId) -> Vec<Finding> {
    let all = engine.linted().report.findings.iter();
    all.filter(|f| f.span.file == file && f.level >= Level::Warning).cloned().collect()
}

struct Trial<'a, 'b> {
    engine: &'a mut Engine,
    new: FileId,
    reorder: &'a Reorder<'b>,
    told: BTreeMap<RuleName, usize>,
}

impl Trial<'_, '_> {
    /// Takes out what can't occur until nothing more can be taken out.
    fn settle(&mut self, trims: &mut Trims) -> Result<(Text, Vec<Finding>), String> {
        for _ in 0..ROUNDS {
            let text = self.reorder.write(trims)?;
            self.engine.replace(vec![(self.new, text.text.as_str().into())]);
            let findings = self.fresh();
            let before = trims.clone();
            if let Some(procedure) = self.procedure() {
                for finding in &findings {
                    trim(&procedure, &text, finding, trims);
                }
            }
            if *trims == before {
                return Ok((text, findings));
            }
        }
        let text = self.reorder.write(trims)?;
        self.engine.replace(vec![(self.new, text.text.as_str().into())]);
        Ok((text, self.fresh()))
    }

    /// What is told of the new file more often than of the old one.
    fn fresh(&self) -> Vec<Finding> {
        let mut left = self.told.clone();
        let mut findings = grave(self.engine, self.new);
        findings.retain(|finding| match left.get_mut(finding.rule) {
            Some(count) if *count > 0 => {
                *count -= 1;
                false
            }
            _ => true,
        });
        findings
    }

    fn procedure(&self) -> Option<Procedure> {
        let linted = self.engine.linted();
        let mut files = linted.tables.base.procedures.iter();
        let (ix, ..) = files.find(|(_, _, file)| **file == self.new)?;
        read_procedure(&linted.loaded, &linted.tables, &rule_levels(), ix).procedure
    }
}

/// What a finding says should be written otherwise.
fn trim(procedure: &Procedure, text: &Text, finding: &Finding, trims: &mut Trims) {
    if finding.rule == "unused-allowance" {
        let idle = procedure.allow.iter().filter(|a| a.span == finding.span);
        trims.allowances.extend(idle.map(|a| a.rule.to_owned()));
        return;
    }
    if finding.rule == "never-found" && finding.cause.as_deref() == Some(NO_FAULT) {
        trims.no_normal = true;
        return;
    }
    let Some(place) = finding.step.as_deref().and_then(|id| result_at(procedure, text, id, finding)) else { return };
    let (at, result, normal) = place;
    match finding.rule {
        "dead-result" => {
            trims.dead.insert((at, result));
        }
        "unsupported-verdict" if normal => {
            trims.unproven.insert((at, result));
        }
        _ => {}
    }
}

/// The result that a finding stands at: its step, its old position, and whether it says `normal`.
fn result_at(procedure: &Procedure, text: &Text, id: &str, finding: &Finding) -> Option<(At, usize, bool)> {
    let step = procedure.steps.get(id)?;
    let within = |span: crate::source::Span| span.start <= finding.span.start && finding.span.end <= span.end;
    let place = step.results.iter().position(|r| within(r.span))?;
    let (at, kept) = text.steps.get(id)?;
    Some((*at, *kept.get(place)?, matches!(step.results[place].way, Way::Normal(_))))
}
