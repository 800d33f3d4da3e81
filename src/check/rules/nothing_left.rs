//! In: one procedure. Out: tests that a possible path enters with every listed cause ruled out, the first such test on each way.
#![doc = include_str!("nothing_left.md")]

use std::collections::BTreeMap;

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level, PathStep};
use crate::graph::paths::{Paths, StateAt};
use crate::graph::witness::{self, Search};
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
        for (at, path) in first_empty(procedure, paths) {
            let (told, vehicles) = told.entry(at).or_insert_with(|| {
                let id = procedure.steps.id(at);
                let message =
                    format!("a way comes to `{id}` with every cause ruled out: there is nothing left to test for");
                let mut finding =
                    words::at_step(procedure, at, RULE.name, Level::Warning, procedure.steps[at].place.key, message)
                        .help("end this way with `normal:` or `refer:`, or add the cause that the test is for");
                finding.path.clone_from(&path);
                (finding, Set::new())
            });
            if path.len() < told.path.len() {
                told.path = path;
            }
            *vehicles = vehicles.or(&class.vehicles);
        }
    }
    out.extend(told.into_values().map(|(f, vehicles)| f.on_vehicles(words::vehicles(unit.base, &vehicles))));
}

/// The ways to a test with nothing left that meet no such test before, the shortest to each test.
fn first_empty(procedure: &Procedure, paths: &Paths) -> Vec<(StepIx, Vec<PathStep>)> {
    let no_fault: Set<Cause> = procedure.no_fault().into_iter().collect();
    let is_empty = |s: StateAt| procedure.steps[paths.step(s)].is_test() && paths.left(s).minus(&no_fault).is_empty();
    if !(0..paths.len()).any(is_empty) {
        return Vec::new();
    }
    // Walk on from the start, but not past a test with nothing left.
    let search = Search::new(paths, |state| !is_empty(state));
    let mut told: Vec<(StepIx, Vec<PathStep>)> = Vec::new();
    for state in search.met().filter(|s| is_empty(*s)) {
        let at = paths.step(state);
        if told.iter().all(|(step, _)| *step != at) {
            let mut path = witness::column(procedure, paths, &search.way(state));
            path.push(witness::line(procedure, at, None));
            told.push((at, path));
        }
    }
    told
}
