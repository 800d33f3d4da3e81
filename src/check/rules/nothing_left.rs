//! In: one procedure. Out: tests that a possible path enters with every listed cause ruled out, the first such test on each way.
#![doc = include_str!("nothing_left.md")]

use std::collections::BTreeMap;

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::graph::paths::{Next, Paths};
use crate::graph::witness;
use crate::model::{Cause, Procedure, Set, StepIx, Vehicle};

/// The rule.
pub static RULE: Rule = Rule {
    name: "nothing-left",
    family: Family::Evidence,
    levels: &[Level::Warning],
    summary: "A test is entered when every listed cause is already ruled out",
    page: include_str!("nothing_left.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    let mut told: BTreeMap<StepIx, (Finding, Set<Vehicle>)> = BTreeMap::new();
    for (class, paths) in &unit.analysis.classes {
        for state in first_empty(procedure, paths) {
            let at = paths.states[state].step;
            let (_, vehicles) = told.entry(at).or_insert_with(|| {
                let id = procedure.steps.id(at);
                let message =
                    format!("a way comes to `{id}` with every cause ruled out: there is nothing left to test for");
                let mut finding =
                    words::at_step(procedure, at, RULE.name, Level::Warning, procedure.steps[at].place.key, message)
                        .help("end this way with `normal:` or `refer:`, or add the cause that the test is for");
                finding.path = witness::column_to(procedure, paths, state);
                (finding, Set::new())
            });
            *vehicles = vehicles.or(&class.vehicles);
        }
    }
    out.extend(told.into_values().map(|(f, vehicles)| f.on_vehicles(words::vehicles(unit.base, &vehicles))));
}

/// States at a test with nothing left, to which some way leads that met no such test before.
fn first_empty(procedure: &Procedure, paths: &Paths) -> Vec<usize> {
    let no_fault: Set<Cause> = procedure.no_fault().into_iter().collect();
    let empty = |s: usize| paths.states[s].left.minus(&no_fault).is_empty();
    let test = |s: usize| procedure.steps[paths.states[s].step].is_test();
    // Walk on from the start, but not past a test with nothing left.
    let mut seen = vec![false; paths.states.len()];
    let mut work: Vec<usize> = (!paths.states.is_empty()).then_some(0).into_iter().collect();
    let mut first = Vec::new();
    while let Some(at) = work.pop() {
        if std::mem::replace(&mut seen[at], true) {
            continue;
        }
        if empty(at) && test(at) {
            first.push(at);
            continue;
        }
        work.extend(paths.moves[at].iter().filter_map(|m| match m.next {
            Next::State(next) => Some(next),
            Next::End => None,
        }));
    }
    first.sort_unstable();
    first
}
