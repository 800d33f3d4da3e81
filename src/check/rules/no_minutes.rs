//! In: the tests. Out: a note per test that says no minutes.
#![doc = include_str!("no_minutes.md")]

use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-minutes",
    family: Family::Order,
    levels: &[Level::Note],
    summary: "A test does not say how many minutes it takes",
    page: include_str!("no_minutes.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (_, id, step) in unit.procedure.steps.iter() {
        if !step.is_test() || step.shared.minutes.is_some() {
            continue;
        }
        out.push(
            Finding::new(RULE.name, Level::Note, step.place.key, format!("step `{id}` says no minutes"))
                .help("add `minutes:`, a guess is better than none")
                .in_procedure(&unit.procedure.id)
                .at_step(id),
        );
    }
}
