//! In: one procedure. Out: steps that a job can come to and never leave by an ending.
#![doc = include_str!("no_way_out.md")]

use std::collections::BTreeSet;

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::graph::classes::{Class, Meets};
use crate::graph::paths::{Paths, fact};
use crate::graph::rings::{endless, state, stuck};
use crate::graph::witness;
use crate::model::{Set, StepIx, Vehicle};

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-way-out",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "The way goes on and on and never comes to an ending",
    page: include_str!("no_way_out.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let mut told: Vec<(Vec<StepIx>, Finding, Set<Vehicle>)> = Vec::new();
    for (class, paths) in unit.analysis.classes.iter().filter(|(_, p)| p.is_exact()) {
        // An endless ring is told by its own rule.
        let rings: BTreeSet<StepIx> = endless(unit.procedure, paths).into_iter().flat_map(|r| r.steps).collect();
        let stuck = stuck(paths, |s| stops_in_gap(class, paths, s));
        let mut left: BTreeSet<StepIx> = stuck.iter().map(|s| paths.states[*s].step).collect();
        for state in &stuck {
            let at = paths.states[*state].step;
            if !left.contains(&at) {
                continue;
            }
            let ring: Vec<StepIx> = onward(paths, *state).into_iter().filter(|s| left.contains(s)).collect();
            for step in &ring {
                left.remove(step);
            }
            if ring.iter().any(|s| rings.contains(s)) {
                continue;
            }
            match told.iter_mut().find(|(steps, ..)| *steps == ring) {
                Some((_, _, vehicles)) => *vehicles = vehicles.or(&class.vehicles),
                None => {
                    let mut finding = finding(unit, at, &ring);
                    finding.path = witness::column_to(unit.procedure, paths, *state);
                    told.push((ring, finding, class.vehicles.clone()));
                }
            }
        }
    }
    out.extend(told.into_iter().map(|(_, f, vehicles)| f.on_vehicles(words::vehicles(unit.base, &vehicles))));
}

/// The steps that possible paths come to from a state, its own among them.
fn onward(paths: &Paths, from: usize) -> BTreeSet<StepIx> {
    let mut seen = BTreeSet::from([from]);
    let mut open = vec![from];
    while let Some(at) = open.pop() {
        open.extend(paths.moves[at].iter().filter_map(|m| state(m.next)).filter(|next| seen.insert(*next)));
    }
    seen.into_iter().map(|at| paths.states[at].step).collect()
}

/// A state whose readings all fall into a gap: the gap is told, not the stop.
fn stops_in_gap(class: &Class, paths: &Paths, state: usize) -> bool {
    let at = paths.states[state].step;
    let Meets::Test { key, takes } = &class.meets[at.raw()] else { return false };
    let known = fact(class, &paths.states[state], *key);
    takes.iter().all(|t| !t.meets(&known))
}

fn finding(unit: &Unit<'_>, at: StepIx, ring: &[StepIx]) -> Finding {
    let procedure = unit.procedure;
    let id = procedure.steps.id(at);
    let message = format!("a job that comes to `{id}` never ends");
    let finding = words::at_step(procedure, at, RULE.name, Level::Error, procedure.steps[at].place.key, message);
    let names: Vec<&str> = ring.iter().map(|s| procedure.steps.id(*s)).collect();
    let finding =
        if names.len() > 1 { finding.fact(format!("it goes round {}", words::list(&names))) } else { finding };
    finding.help("give one of its results an ending, or lead it to a step that has one")
}
