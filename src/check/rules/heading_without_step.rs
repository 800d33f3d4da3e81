//! In: the headings of the body, the steps that lack one. Out: a finding per `##` heading whose id is nobody's.
#![doc = include_str!("heading_without_step.md")]

use super::step_without_heading::lacking;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{Fix, Procedure};
use crate::parse::near::nearest;
use crate::source::Spanned;

/// The rule.
pub static RULE: Rule = Rule {
    name: "heading-without-step",
    family: Family::Shape,
    levels: &[Level::Warning],
    summary: "A heading's id matches no step while a step lacks its heading",
    page: include_str!("heading_without_step.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (id, meant) in meant_for(unit.procedure) {
        let finding = Finding::new(RULE.name, Level::Warning, id.span, format!("there is no step `{}`", id.value))
            .in_procedure(&unit.procedure.id);
        let step = meant.and_then(|m| Some((m, unit.procedure.steps.get(m)?)));
        out.push(match step {
            Some((meant, step)) => finding
                .label(step.place.key, "this step has no heading")
                .help(format!("write `{{#{meant}}}`"))
                .mend(format!("write `{meant}`"), id.span, meant),
            None => finding.help(
                "take the id off if this is an ordinary section, or write the id of a step that lacks its heading",
            ),
        });
    }
}

/// The `##` headings whose id is neither a step's nor a repair's, while some step lacks its heading; with each the step
/// that it was most likely meant for.
pub(super) fn meant_for(procedure: &Procedure) -> Vec<(&Spanned<String>, Option<&str>)> {
    let mut open = lacking(procedure);
    if open.is_empty() {
        return Vec::new();
    }
    let is_repair = |at: usize| {
        procedure
            .causes
            .iter()
            .any(|(_, _, c)| matches!(&c.fix, Some(f) if matches!(f.value, Fix::Heading(h) if h == at)))
    };
    let mut found = Vec::new();
    for (at, section) in procedure.sections.iter().enumerate() {
        let Some(id) = &section.id else { continue };
        // The second of two headings with one id was told as `duplicate-id`; one with the id of a cause is about that cause.
        let again = procedure.causes.find(&id.value).is_some()
            || procedure.sections[..at].iter().any(|s| s.id.as_ref().is_some_and(|i| i.value == id.value));
        if again || section.level != 2 || is_repair(at) || procedure.steps.find(&id.value).is_some() {
            continue;
        }
        let meant = nearest(&id.value, open.iter().copied());
        open.retain(|step| Some(*step) != meant);
        found.push((id, meant));
    }
    found
}
