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
    let mut told: BTreeSet<StepIx> = BTreeSet::new();
    for at in roots(unit, &unreached) {
        let only: Vec<&str> = unit
            .analysis
            .arrows
            .reached_from(at)
            .into_iter()
            .filter(|s| *s != at && unreached.contains(s) && told.insert(*s))
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
    unit.procedure.steps.indexes().filter(|s| !unit.analysis.enters(*s)).collect()
}

/// One step for each group that no other unreachable step leads to: the first in written order.
fn roots(unit: &Unit<'_>, unreached: &BTreeSet<StepIx>) -> Vec<StepIx> {
    let mut roots: Vec<StepIx> = Vec::new();
    let mut covered: BTreeSet<StepIx> = BTreeSet::new();
    let led_to = |at: StepIx| {
        unit.analysis.arrows.leading_to(at).iter().any(|(from, _)| *from != at && unreached.contains(from))
    };
    let (heads, rest): (Vec<StepIx>, Vec<StepIx>) = unreached.iter().partition(|s| !led_to(**s));
    for at in heads.into_iter().chain(rest) {
        if covered.contains(&at) {
            continue;
        }
        covered.extend(unit.analysis.arrows.reached_from(at));
        roots.push(at);
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
