//! In: one procedure. Out: rings that a job can go round for ever without doing anything.
#![doc = include_str!("endless_loop.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::graph::rings::endless;
use crate::graph::witness;
use crate::model::{Set, StepIx, Vehicle};

/// The rule.
pub static RULE: Rule = Rule {
    name: "endless-loop",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "A ring of tests that nothing on the way changes",
    page: include_str!("endless_loop.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    let mut told: Vec<(Vec<StepIx>, Finding, Set<Vehicle>)> = Vec::new();
    for (class, paths) in &unit.analysis.classes {
        for ring in endless(procedure, paths) {
            if let Some((_, _, vehicles)) = told.iter_mut().find(|(steps, ..)| *steps == ring.steps) {
                *vehicles = vehicles.or(&class.vehicles);
                continue;
            }
            let at = paths.states[ring.entry].step;
            let names: Vec<&str> = ring.steps.iter().map(|s| procedure.steps.id(*s)).collect();
            let message = match names.as_slice() {
                [one] => format!("`{one}` leads back to itself: nothing changes on the way round"),
                _ => format!("{} lead round in a ring: nothing changes on the way", words::list(&names)),
            };
            let mut finding =
                words::at_step(procedure, at, RULE.name, Level::Error, procedure.steps[at].place.key, message);
            for (state, via) in &ring.round {
                let line = witness::line(procedure, paths.states[*state].step, Some(*via));
                finding = finding.label(line.span, "round again");
            }
            finding.path = witness::column(procedure, paths, &paths.way(ring.entry));
            finding.path.extend(witness::column(procedure, paths, &ring.round));
            finding.path.push(witness::line(procedure, at, None));
            finding =
                finding.help("lead one of the results on, or put a `do` step into the ring that changes the reading");
            told.push((ring.steps, finding, class.vehicles.clone()));
        }
    }
    out.extend(told.into_iter().map(|(_, f, vehicles)| f.on_vehicles(words::vehicles(unit.base, &vehicles))));
}
