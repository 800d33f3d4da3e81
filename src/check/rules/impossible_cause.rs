//! In: one procedure. Out: tests each of whose results rules out a cause that is still possible when the test is entered.
#![doc = include_str!("impossible_cause.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::model::{Cause, Kind, NO_FAULT, Set, Step, Vehicle, Way};

/// The rule.
pub static RULE: Rule = Rule {
    name: "impossible-cause",
    family: Family::Evidence,
    levels: &[Level::Warning],
    summary: "A step whose every result rules out the same cause",
    page: include_str!("impossible_cause.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    for (at, id, step) in procedure.steps.iter() {
        if step.results.is_empty() || matches!(step.kind, Kind::Do(_)) {
            continue;
        }
        for cause in excluded(step, procedure.causes.len()).iter() {
            let name = procedure.causes.id(cause);
            if name == NO_FAULT {
                continue;
            }
            let mut vehicles: Set<Vehicle> = Set::new();
            let mut nearest: Option<(usize, Vec<crate::finding::PathStep>)> = None;
            for (class, paths) in &unit.analysis.classes {
                let open = paths.at(at).find(|s| paths.left(*s).contains(cause));
                if let Some(state) = open {
                    vehicles = vehicles.or(&class.vehicles);
                    let away = paths.depth(state);
                    if nearest.as_ref().is_none_or(|(other, _)| away < *other) {
                        nearest = Some((away, crate::graph::witness::column_to(procedure, paths, state)));
                    }
                }
            }
            let Some((_, path)) = nearest else { continue };
            let message = format!("every result of `{id}` rules `{name}` out, whatever is seen");
            let mut finding = words::at_step(procedure, at, RULE.name, Level::Warning, step.place.key, message)
                .of_cause(name)
                .on_vehicles(words::vehicles(unit.base, &vehicles))
                .help(format!("leave `{name}` open in the result that a vehicle with this fault would give"));
            for result in &step.results {
                if let Some(word) = result.clears.iter().find(|c| c.value == cause) {
                    finding = finding.label(word.span, "ruled out here");
                }
            }
            finding.path = path;
            out.push(finding);
        }
    }
}

/// Causes that every result rules out: by `clears`, by `leaves`, or by showing another.
fn excluded(step: &Step, count: usize) -> Set<Cause> {
    step.results.iter().fold(Set::all(count), |all, result| {
        let mut out = result.rules_out(count);
        if let Way::Shows(cause) = result.way {
            out = Set::all(count);
            out.remove(cause);
        }
        all.and(&out)
    })
}
