//! In: one procedure. Out: steps that no possible path enters, each with the steps that are reached only through it.
#![doc = include_str!("unreachable_step.md")]

use std::collections::BTreeSet;

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::model::StepIx;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unreachable-step",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "No way through the procedure enters this step",
    page: include_str!("unreachable_step.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let unreached: BTreeSet<StepIx> = unreached(unit);
    let roots = roots(unit, &unreached);
    let mut told: BTreeSet<StepIx> = roots.iter().copied().collect();
    for at in roots {
        let only: Vec<&str> = unit
            .analysis
            .arrows
            .reached_within(&unreached, at)
            .into_iter()
            .filter(|s| told.insert(*s))
            .map(|s| unit.procedure.steps.id(s))
            .collect();
        out.push(finding(unit, at, &only));
    }
}

/// Steps that no possible path enters; without possible paths (names that don't resolve), by arrows alone.
fn unreached(unit: &Unit<'_>) -> BTreeSet<StepIx> {
    if unit.analysis.classes.is_empty() {
        return BTreeSet::new();
    }
    unit.procedure.steps.indexes().filter(|s| !unit.analysis.may_enter(*s)).collect()
}

/// Steps that a dead result or nothing leads to, and of each ring that only other lost steps reach the first in written
/// order.
fn roots(unit: &Unit<'_>, unreached: &BTreeSet<StepIx>) -> BTreeSet<StepIx> {
    let leading = |at: StepIx| unit.analysis.arrows.leading_to(at);
    let lost = |from: StepIx, at: StepIx| from != at && unreached.contains(&from);
    let mut roots: BTreeSet<StepIx> = BTreeSet::new();
    let mut covered: BTreeSet<StepIx> = BTreeSet::new();
    let is_head = |at: StepIx| {
        let from = leading(at);
        from.iter().any(|(f, _)| !unreached.contains(f)) || !from.iter().any(|(f, _)| lost(*f, at))
    };
    let (heads, rest): (Vec<StepIx>, Vec<StepIx>) = unreached.iter().partition(|s| is_head(**s));
    for (at, head) in heads.into_iter().map(|s| (s, true)).chain(rest.into_iter().map(|s| (s, false))) {
        // A step of a ring stands for it only where all that leads to the ring is the ring itself.
        let alone = || {
            let onward = unit.analysis.arrows.reached_within(unreached, at);
            unreached
                .iter()
                .all(|s| !unit.analysis.arrows.reached_within(unreached, *s).contains(&at) || onward.contains(s))
        };
        if head || (!covered.contains(&at) && alone()) {
            covered.extend(unit.analysis.arrows.reached_within(unreached, at));
            roots.insert(at);
        }
    }
    roots
}

fn finding(unit: &Unit<'_>, at: StepIx, only: &[&str]) -> Finding {
    let procedure = unit.procedure;
    let id = procedure.steps.id(at);
    let into: Vec<_> = unit.analysis.arrows.leading_to(at).into_iter().filter(|(from, _)| *from != at).collect();
    let message = if into.is_empty() {
        format!("no way leads to step `{id}`")
    } else {
        format!("no possible way leads to step `{id}`: only results that can't be taken")
    };
    let mut finding = words::at_step(procedure, at, RULE.name, Level::Error, procedure.steps[at].place.key, message);
    for (from, via) in into.iter().take(3) {
        let line = crate::graph::witness::line(procedure, *from, Some(*via));
        finding = finding.label(line.span, "leads here, never taken");
    }
    if !only.is_empty() {
        finding = finding.fact(format!("reached only through it: {}", words::list(only)));
    }
    finding.help(format!("lead a result to it with `then: {id}`, or take the step out"))
}
