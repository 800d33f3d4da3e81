//! In: one procedure. Out: steps that a possible path enters before a step of their `after`.
#![doc = include_str!("out_of_turn.md")]

use std::collections::VecDeque;

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, PathStep};
use crate::graph::paths::{Next, Paths, StateAt, Via};
use crate::graph::witness;
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
    for (at, id, step) in procedure.steps.iter() {
        for before in &step.after {
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
    let step = |s: StateAt| paths.states[s].step;
    if paths.states.is_empty() || step(0) == avoid && to != avoid {
        return None;
    }
    let mut from: Vec<Option<(StateAt, Via)>> = vec![None; paths.states.len()];
    let mut seen = vec![false; paths.states.len()];
    let mut queue = VecDeque::from([0]);
    seen[0] = true;
    while let Some(at) = queue.pop_front() {
        if step(at) == to {
            return Some(column(procedure, paths, &from, at));
        }
        for m in &paths.moves[at] {
            let Next::State(next) = m.next else { continue };
            if !seen[next] && step(next) != avoid {
                seen[next] = true;
                from[next] = Some((at, m.via));
                queue.push_back(next);
            }
        }
    }
    None
}

fn column(procedure: &Procedure, paths: &Paths, from: &[Option<(StateAt, Via)>], to: StateAt) -> Vec<PathStep> {
    let mut column = vec![witness::line(procedure, paths.states[to].step, None)];
    let mut at = to;
    while let Some((before, via)) = from[at] {
        column.push(witness::line(procedure, paths.states[before].step, Some(via)));
        at = before;
    }
    column.reverse();
    column
}
