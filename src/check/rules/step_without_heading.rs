//! In: the steps and the headings of the body. Out: a finding per step that has none. One that a misspelt heading was
//! meant for is left to `heading-without-step`.
#![doc = include_str!("step_without_heading.md")]

use super::heading_without_step::meant_for;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{Kind, Procedure, Step};

/// The rule.
pub static RULE: Rule = Rule {
    name: "step-without-heading",
    family: Family::Shape,
    levels: &[Level::Warning],
    summary: "A step has no heading in the body",
    page: include_str!("step_without_heading.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let meant: Vec<&str> = meant_for(unit.procedure).into_iter().filter_map(|(_, step)| step).collect();
    for id in lacking(unit.procedure).into_iter().filter(|id| !meant.contains(id)) {
        let Some(step) = unit.procedure.steps.get(id) else { continue };
        out.push(
            Finding::new(RULE.name, Level::Warning, step.place.key, format!("step `{id}` has no heading in the body"))
                .help(format!("add `## {} {{#{id}}}` and below it how to do it", step.title))
                .in_procedure(&unit.procedure.id)
                .at_step(id),
        );
    }
}

/// The steps that need a heading and have none.
pub(super) fn lacking(procedure: &Procedure) -> Vec<&str> {
    let needs = |step: &Step| {
        step.section.is_none() && step.check.is_none() && !matches!(step.kind, Kind::Which) && !step.is_unread()
    };
    procedure.steps.iter().filter(|(_, _, step)| needs(step)).map(|(_, id, _)| id).collect()
}
