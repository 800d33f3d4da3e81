//! In: one procedure. Out: its review, where the meaning has changed since.
#![doc = include_str!("stale_review.md")]

use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::Fix;

/// The rule.
pub static RULE: Rule = Rule {
    name: "stale-review",
    family: Family::Review,
    levels: &[Level::Warning],
    summary: "The procedure has changed since it was reviewed",
    page: include_str!("stale_review.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    let Some(review) = procedure.reviewed.as_ref().filter(|_| procedure.sound) else { return };
    let (Some(of), Some(now)) = (&review.of, unit.meaning) else { return };
    if of.value == now || is_unread(unit) {
        return;
    }
    out.push(
        Finding::new(
            RULE.name,
            Level::Warning,
            of.span,
            format!("`{}` has changed in meaning since {} reviewed it on {}", procedure.id, review.by, review.on),
        )
        .in_procedure(procedure.id.clone())
        .fact(format!("reviewed as {}, now {now}", of.value))
        .help(format!("review it again: `ruleout approve {} --by INITIALS`", procedure.id)),
    );
}

/// Whether something that the procedure uses has an error (told): what it means can't be known before that is mended.
fn is_unread(unit: &Unit<'_>) -> bool {
    let (base, procedure) = (unit.base, unit.procedure);
    let causes = || procedure.causes.iter().map(|(_, _, cause)| cause);
    let repairs = causes().filter_map(|cause| match cause.fix.as_ref().map(|fix| &fix.value) {
        Some(Fix::Repair(repair)) => Some(*repair),
        _ => None,
    });
    let steps = || procedure.steps.iter().map(|(_, _, step)| step);
    let setups = || steps().flat_map(|step| &step.shared.setup);
    let hazards = steps().flat_map(|step| base.hazards_there(procedure, step)).map(|there| there.hazard);
    let instruments = steps().flat_map(|step| &step.shared.with).flat_map(|with| &with.value);
    let specs = steps().filter_map(|step| step.measure()?.spec.as_ref());
    let checks = steps().filter_map(|step| step.check.as_ref());
    let system = procedure.system.iter().map(|system| &base.systems[system.value].place);
    let places = repairs
        .map(|repair| &base.repairs[repair].place)
        .chain(setups().map(|setup| &base.setups[setup.value].place))
        .chain(hazards.map(|hazard| &base.hazards[hazard].place))
        .chain(instruments.map(|instrument| &base.equipment[*instrument].place))
        .chain(specs.map(|spec| &base.specs[spec.value].place))
        .chain(checks.map(|check| &base.checks[check.value].place))
        .chain(system);
    !base.broken.is_empty()
        || causes().any(|cause| cause.fix_named && cause.fix.is_none())
        || places.into_iter().any(|place| base.is_faulty(place))
}
