//! In: one procedure. Out: steps that a job can come to and never leave by an ending.
#![doc = include_str!("no_way_out.md")]

use super::endless_loop::all;
use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::graph::classes::{Class, Meets};
use crate::graph::paths::Paths;
use crate::graph::rings::{Ring, grouped, hopeless};
use crate::graph::witness;
use crate::model::{Set, Step};

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
    // Past the limit no way is seen to its end.
    if !unit.analysis.is_exact() || !unit.analysis.arrows.leads_round(|_| true) {
        return;
    }
    // An endless ring is told by its own rule.
    let told = all(unit).into_iter().fold(Set::new(), |steps: Set<Step>, (_, r)| steps.or(&r.steps));
    let classes = unit.analysis.classes.iter().enumerate();
    let rings = classes.flat_map(|(at, (class, paths))| {
        hopeless(paths, |s| stops_in_gap(class, paths, s)).into_iter().map(move |r| (at, r))
    });
    let groups = grouped(rings.collect());
    let fresh = groups.iter().filter(|g| g.iter().all(|(_, r)| !r.steps.meets(&told)));
    out.extend(fresh.filter_map(|group| finding(unit, group)));
}

/// A state whose readings all fall into a gap: the gap is told, not the stop.
fn stops_in_gap(class: &Class, paths: &Paths, state: usize) -> bool {
    let Meets::Test { key, takes } = &class.meets[paths.step(state).raw()] else {
        return paths.moves(state).next().is_none();
    };
    let known = paths.fact(state, *key);
    takes.iter().all(|t| !t.meets(&known))
}

fn finding(unit: &Unit<'_>, group: &[(usize, Ring)]) -> Option<Finding> {
    let procedure = unit.procedure;
    let (class, ring) = group.first()?;
    let paths = &unit.analysis.classes[*class].1;
    let at = paths.step(ring.entry);
    let id = procedure.steps.id(at);
    let message = format!("a job that comes to `{id}` never ends");
    let mut finding = words::at_step(procedure, at, RULE.name, Level::Error, procedure.steps[at].place.key, message);
    let names: Vec<&str> = ring.steps.iter().map(|s| procedure.steps.id(s)).collect();
    if names.len() > 1 {
        finding = finding.fact(format!("it goes round {}", words::list(&names)));
    }
    finding.path = witness::column_to(procedure, paths, ring.entry);
    let vehicles = words::of_classes(unit, group.iter().map(|(class, _)| *class));
    Some(finding.on_vehicles(vehicles).help("give one of its results an ending, or lead it to a step that has one"))
}
