//! In: one procedure. Out: its review, where the meaning has changed since.
#![doc = include_str!("stale_review.md")]

use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};

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
    if of.value == now {
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
