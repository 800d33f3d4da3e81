//! In: one procedure. Out: steps that a possible path enters before a step of their `after`.
#![doc = include_str!("out_of_turn.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, PathStep};
use crate::graph::paths::Paths;
use crate::graph::witness::{self, Search};
use crate::model::{Procedure, Set, StepIx, Vehicle};

/// The rule.
pub static RULE: Rule = Rule {
    name: "out-of-turn",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "A step can be entered before a step it must come after",
    page: include_str!("out_of_turn.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    if procedure.steps.iter().all(|(_, _, s)| s.after.is_empty()) {
        return;
    }
    let passed = unit.analysis.arrows.passed();
    for (at, id, step) in procedure.steps.iter() {
        for before in &step.after {
            // Where not even the arrows lead around it, no possible path does.
            if before.value != at && passed.as_ref().is_some_and(|p| p.passes(before.value, at)) {
                continue;
            }
            let mut path: Option<Vec<PathStep>> = None;
            let mut vehicles: Set<Vehicle> = Set::new();
            for (class, paths) in &unit.analysis.classes {
                if let Some(way) = avoiding(procedure, paths, at, before.value) {
                    vehicles = vehicles.or(&class.vehicles);
                    if path.as_ref().is_none_or(|p| way.len() < p.len()) {
                        path = Some(way);
                    }
                }
            }
            let Some(path) = path else { continue };
            let first = procedure.steps.id(before.value);
            let message = format!("a possible way comes to `{id}` before `{first}`");
            let mut finding = words::at_step(procedure, at, RULE.name, Level::Error, before.span, message)
                .label(procedure.steps[before.value].place.key, "must come before")
                .on_vehicles(words::vehicles(unit.base, &vehicles))
                .help(format!("lead every way to `{id}` through `{first}`, or take it out of `after`"));
            finding.path = path;
            out.push(finding);
        }
    }
}

/// The shortest possible path to a step that does not pass another.
fn avoiding(procedure: &Procedure, paths: &Paths, to: StepIx, avoid: StepIx) -> Option<Vec<PathStep>> {
    let search = Search::new(paths, |state| paths.step(state) != avoid);
    let state = search.met().find(|s| paths.step(*s) == to)?;
    let mut column = witness::column(procedure, paths, &search.way(state));
    column.push(witness::line(procedure, to, None));
    Some(column)
}
