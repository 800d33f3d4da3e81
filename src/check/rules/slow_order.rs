//! In: one procedure. Out: the first step to move, where another order of the same tests is faster on average.
#![doc = include_str!("slow_order.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, Saving};
use crate::model::{Procedure, Set, Step, StepIx, Vehicle};
use crate::order::advice::{What, advice};
use crate::order::authored::authored;
use crate::order::faster::{Faster, faster};
use crate::order::translate::Minutes;
use crate::parse::page;
use crate::parse::yaml::Kind as NodeKind;
use crate::source::Span;

/// The rule.
pub static RULE: Rule = Rule {
    name: "slow-order",
    family: Family::Order,
    levels: &[Level::Note],
    summary: "Another order of the same tests is faster on average",
    page: include_str!("slow_order.md"),
    run: Run::Procedure(check),
};

/// What makes a slower order worth a word: at least this part, and at least these minutes, above the best.
const PART: f64 = 0.1;
const MINUTES: f64 = 2.0;

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    // Past the limit nothing is known of the minutes as written.
    if !unit.analysis.is_exact() {
        return;
    }
    // Where nothing takes a minute, no order is slower.
    let minutes = Minutes::new(unit.base, unit.procedure);
    if minutes.steps.iter().all(|m| *m <= 0.0) && minutes.table.is_empty() {
        return;
    }
    let enough = |written: f64| f64::min(written - MINUTES, written / (1.0 + PART));
    let mut worst: Option<(f64, What, Faster)> = None;
    let mut vehicles: Set<Vehicle> = Set::new();
    for (class, paths, alike) in unit.analysis.alike() {
        let Some(found) = faster(unit.analysis, class, paths, &minutes, enough) else { continue };
        let Some(tree) = authored(unit.procedure, paths, &found.translated) else { continue };
        let Some(advice) = advice(&found.translated.problem, &tree, &found.best.tree) else { continue };
        if crosses_a_change(unit.procedure, &found.translated.steps, advice.what) {
            continue;
        }
        vehicles = vehicles.or(&alike);
        let saved = found.written.minutes - found.best.figures.minutes;
        if worst.as_ref().is_none_or(|(most, ..)| saved > *most) {
            worst = Some((saved, advice.what, found));
        }
    }
    if let Some((saved, what, found)) = worst {
        out.push(finding(unit, saved, what, &found).on_vehicles(words::vehicles(unit.base, &vehicles)));
    }
}

/// Whether one of the two changes what the other reads: the reading means something else on the other side.
fn crosses_a_change(procedure: &Procedure, steps: &[StepIx], what: What) -> bool {
    let What::Move { step, before } = what else { return false };
    let (one, other) = (&procedure.steps[steps[step]], &procedure.steps[steps[before]]);
    let changes =
        |a: &Step, b: &Step| b.is_test() && (a.changes.all || a.changes.keys.iter().any(|k| k.value == b.key));
    changes(one, other) || changes(other, one)
}

fn finding(unit: &Unit<'_>, saved: f64, what: What, found: &Faster) -> Finding {
    let procedure = unit.procedure;
    let step = |at: usize| found.translated.steps[at];
    let id = |at: usize| procedure.steps.id(step(at));
    let minutes = format!("{saved:.1}");
    let (at, before, message) = match what {
        What::Move { step, before } => (
            step,
            Some(id(before)),
            format!("`{}` before `{}` saves {minutes} minutes on average", id(step), id(before)),
        ),
        What::OnlyWhenNeeded { step } => {
            (step, None, format!("`{}` only when it is needed saves {minutes} minutes on average", id(step)))
        }
    };
    let place = procedure.steps[step(at)].place;
    let mut finding = words::at_step(procedure, step(at), RULE.name, Level::Note, place.key, message);
    finding.saving = Some(Saving { before: before.map(str::to_owned), minutes });
    if let What::Move { before, .. } = what {
        finding = finding.label(procedure.steps[step(before)].place.key, "comes first as written");
    }
    let (written, best) = (&found.written, &found.best.figures);
    let which = if found.best.exact { "the best order" } else { "a better order" };
    finding = finding.fact(format!("{:.1} minutes as written, {:.1} in {which}", written.minutes, best.minutes));
    let changes: Vec<String> = found
        .odds
        .causes
        .iter()
        .zip(written.per_cause.iter().zip(&best.per_cause))
        .filter(|(_, (old, new))| (**old - **new).abs() >= 0.05)
        .map(|(cause, (old, new))| format!("`{}` {:+.1}", procedure.causes.id(*cause), new - old))
        .collect();
    finding = finding.fact(format!("minutes per cause: {}", changes.join(", ")));
    finding = finding.help(format!("`ruleout order {}` shows the best order", procedure.id));
    match what {
        What::Move { step: moved, before } => bound(unit, finding, step(moved), id(before)),
        What::OnlyWhenNeeded { .. } => finding,
    }
}

/// If the author wants the order as it is, `after` says so: a mend where the step has none yet.
fn bound(unit: &Unit<'_>, finding: Finding, moved: StepIx, before: &str) -> Finding {
    let procedure = unit.procedure;
    let id = procedure.steps.id(moved);
    let finding = finding.help(format!("if `{id}` must come later, add `after: [{before}]` to it"));
    if !procedure.steps[moved].after.is_empty() {
        return finding;
    }
    let source = unit.sources.file(procedure.file);
    let page = page::read(procedure.file, source, &crate::parse::keys::PROCEDURE, &mut Vec::new());
    let Some(row) =
        page.tree.as_ref().and_then(|t| t.get("steps")?.get(id)).filter(|r| matches!(r.kind, NodeKind::Map(_)))
    else {
        return finding;
    };
    let Some(first) = row.entries().first().map(|e| e.key.span.start as usize) else { return finding };
    let text = source.text();
    let line = text[..first].rfind('\n').map_or(0, |i| i + 1);
    let indent = &text[line..first];
    let new =
        if indent.trim().is_empty() { format!("after: [{before}]\n{indent}") } else { format!("after: [{before}], ") };
    finding.mend(format!("bind it with `after: [{before}]`"), Span::new(procedure.file, first, first), new)
}
