//! In: one procedure and its cases. Out: one note that lists the results which no case has ever taken.
#![doc = include_str!("untried_results.md")]

use std::collections::BTreeSet;

use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::graph::paths::Via;
use crate::model::StepIx;

/// The rule.
pub static RULE: Rule = Rule {
    name: "untried-results",
    family: Family::Review,
    levels: &[Level::Note],
    summary: "Results that no solved job has ever taken",
    page: include_str!("untried_results.md"),
    run: Run::Procedure(check),
};

/// As many results as the note spells out.
const SPELT_OUT: usize = 12;

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    if !procedure.sound {
        return;
    }
    let tried = tried(unit);
    let possible = possible(unit);
    let untried: Vec<&(StepIx, usize)> = possible.iter().filter(|r| !tried.contains(r)).collect();
    if untried.is_empty() {
        return;
    }
    let message = if unit.cases.is_empty() {
        format!("no case has tried any of the {} results of `{}`", possible.len(), procedure.id)
    } else {
        format!("no case has ever taken {} of the {} results of `{}`", untried.len(), possible.len(), procedure.id)
    };
    let mut finding = Finding::new(RULE.name, Level::Note, procedure.complaint.span, message)
        .in_procedure(procedure.id.clone())
        .help("add a case for a job that took one of them: a file `cases/NAME.yaml`");
    if !unit.cases.is_empty() {
        for (at, result) in untried.iter().take(SPELT_OUT) {
            let text = &procedure.steps[*at].results[*result].text;
            finding = finding.label(text.span, format!("not tried at `{}`", procedure.steps.id(*at)));
        }
    }
    out.push(finding);
}

/// Results of tests that some possible path takes (past the limit: those that one surely does).
fn possible(unit: &Unit<'_>) -> BTreeSet<(StepIx, usize)> {
    let mut possible = BTreeSet::new();
    for (at, _, step) in unit.procedure.steps.iter().filter(|(_, _, s)| s.is_test()) {
        let taken =
            |result: &usize| unit.analysis.classes.iter().any(|(_, p)| p.surely_takes(at, Via::Result(*result)));
        possible.extend((0..step.results.len()).filter(taken).map(|result| (at, result)));
    }
    possible
}

fn tried(unit: &Unit<'_>) -> BTreeSet<(StepIx, usize)> {
    let walks = unit.cases.iter().filter_map(|solved| solved.walk.as_ref().ok()?.as_ref());
    walks.flat_map(|walk| &walk.stops).filter_map(|stop| Some((stop.step, stop.taken?))).collect()
}
