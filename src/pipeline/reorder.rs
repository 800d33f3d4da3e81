//! A procedure written anew in its best order, tried until it lints as the old one does.
//!
//! In: a base in which the new file stands (with any text), and the old procedure. Out: its text.

use std::collections::BTreeSet;

use super::{Engine, read_procedure, rule_levels};
use crate::edit::reorder::{At, Lacking, OnClass, Reorder, Text, Trims};
use crate::finding::{Finding, Level, RuleName};
use crate::graph::Analysis;
use crate::load::Loaded;
use crate::model::{Base, NO_FAULT, Procedure, VehicleIx, Way};
use crate::order::best::THOROUGH;
use crate::order::named::Named;
use crate::order::shares::Odds;
use crate::order::weigh::weigh;
use crate::order::written::{Written, written};
use crate::resolve::Resolved;
use crate::source::FileId;

/// How often a text is mended before it is given up; each round takes out at least one result or allowance.
const ROUNDS: usize = 100;

/// The best order on each class of a procedure's vehicles.
///
/// # Errors
/// One sentence: there is none on some class, or it is too large to be written.
pub fn best_orders<'a>(analysis: &'a Analysis<'_>) -> Result<Vec<OnClass<'a>>, String> {
    let id = &analysis.procedure.id;
    let mut orders = Vec::new();
    for (class, paths) in &analysis.classes {
        let Some(weighed) = weigh(analysis, class.one, THOROUGH) else { continue };
        let best = match &weighed.best {
            Ok(best) => &best.figures,
            Err(why) => return Err(format!("the best order of `{id}` was not worked out: {why}")),
        };
        let better = weighed.written.as_ref().is_none_or(|written| written.loses_to(best.minutes, best.isolation));
        let order = weighed.order().filter(Named::is_whole);
        let order = order.ok_or_else(|| format!("the order of `{id}` has too many ways to be written out"))?;
        orders.push(OnClass { class, paths, order, better });
    }
    Ok(orders)
}

/// What a procedure takes and tells on a vehicle, asked as it is written.
pub fn as_written(analysis: &Analysis<'_>, vehicle: VehicleIx) -> Option<Written> {
    let (_, paths) = analysis.classes.iter().find(|(class, _)| class.vehicles.contains(vehicle))?;
    written(analysis.base, analysis.procedure, paths, &Odds::new(analysis.procedure, vehicle))
}

/// Whether a procedure written anew takes less time or tells more on some class. That the order is better is not enough: results
/// that ended the job may lead on now, and then the odds of their causes are others.
pub fn gains(old: &Analysis<'_>, new: &Analysis<'_>, orders: &[OnClass<'_>]) -> bool {
    orders.iter().any(|OnClass { class, .. }| {
        let both = as_written(old, class.one).zip(as_written(new, class.one));
        both.is_none_or(|(old, new)| old.loses_to(new.minutes, new.isolation))
    })
}

/// Writes a procedure in its best order. `engine` holds a base in which its file stands under the same path, and the `new` file;
/// `base` and `resolved` are of the same files. The engine then holds the text that is handed out.
///
/// # Errors
/// One sentence: there is nothing to put in order, the text is not laid out so that it can be written anew, or the new one would have
/// an error or a warning that the old one has not.
pub fn reorder(
    engine: &mut Engine,
    new: FileId,
    (base, loaded, resolved): (&Base, &Loaded, &Resolved),
    orders: &[OnClass<'_>],
) -> Result<String, String> {
    let (Some(procedure), Some(tree)) = (&resolved.procedure, &resolved.tree) else {
        return Err("the procedure could not be read".into());
    };
    let source = loaded.sources.file(procedure.file);
    let old = engine.linted().loaded.sources.find(source.path()).ok_or("its file is gone")?;
    let write = Reorder::new(base, procedure, source.text(), tree, orders)
        .map_err(|why| format!("`{}` can't be written in another order: {why}", procedure.id))?;
    let (text, findings) = tried(engine, old, new, &write)?;
    match findings.first() {
        None => Ok(text),
        Some(first) => Err(format!(
            "`{}` can't be written in its best order without a fault that it has not now: {} ({}). Mend `{0}` so that its tests \
             say what they prove on each vehicle, and try again",
            procedure.id, first.message, first.rule
        )),
    }
}

fn tried(
    engine: &mut Engine,
    old: FileId,
    new: FileId,
    reorder: &Reorder<'_>,
) -> Result<(String, Vec<Finding>), String> {
    let told = grave(engine, old).iter().map(|finding| subject(finding, None)).collect();
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
    Ok((text.text, findings))
}

/// What makes a finding of the new procedure the same as one of the old one: the rule, the cause and the old step.
type Subject = (RuleName, Option<String>, Option<String>);

fn subject(finding: &Finding, text: Option<&Text>) -> Subject {
    let old = |id: &String| text.map_or_else(|| Some(id.clone()), |text| text.origins.get(id).cloned());
    (finding.rule, finding.cause.clone(), finding.step.as_ref().and_then(old))
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
    told: BTreeSet<Subject>,
}

impl Trial<'_, '_> {
    /// Takes out what can't occur until nothing more can be taken out.
    fn settle(&mut self, trims: &mut Trims) -> Result<(Text, Vec<Finding>), String> {
        for _ in 0..ROUNDS {
            let text = self.reorder.write(trims)?;
            self.engine.replace(vec![(self.new, text.text.as_str().into())]);
            let findings = self.fresh(&text);
            let before = trims.clone();
            if let Some(procedure) = self.procedure() {
                for finding in findings.iter().chain(self.notes()) {
                    trim(&procedure, &text, finding, trims);
                }
            }
            if *trims == before {
                trims.allow.extend(self.notes().map(|finding| finding.rule));
            }
            if *trims == before {
                return Ok((text, findings));
            }
        }
        let text = self.reorder.write(trims)?;
        self.engine.replace(vec![(self.new, text.text.as_str().into())]);
        let findings = self.fresh(&text);
        Ok((text, findings))
    }

    /// What is told of the new file and was not told of the old one.
    fn fresh(&self, text: &Text) -> Vec<Finding> {
        let mut findings = grave(self.engine, self.new);
        findings.retain(|finding| !self.told.contains(&subject(finding, Some(text))));
        findings
    }

    /// What is told of an order, however good it is.
    fn notes(&self) -> impl Iterator<Item = &Finding> {
        let all = self.engine.linted().report.findings.iter();
        all.filter(|f| f.span.file == self.new && (f.rule == "no-news" || f.rule == "slow-order"))
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
        trims.allow.insert(finding.rule);
        return;
    }
    let cause = finding.cause.as_deref().and_then(|id| procedure.causes.find(id));
    if finding.rule == "never-found" {
        trims.named.extend(cause);
        return;
    }
    if finding.rule == "reading-gap" {
        let at = finding.step.as_ref().and_then(|id| text.steps.get(id));
        trims.gaps.extend(at.map(|(at, _)| *at));
        return;
    }
    let Some(place) = finding.step.as_deref().and_then(|id| result_at(procedure, text, id, finding)) else { return };
    let (at, result, normal) = place;
    match finding.rule {
        "dead-result" => {
            trims.dead.insert((at, result));
        }
        "no-news" => trims.vain.extend(cause.map(|cause| ((at, result), cause))),
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
