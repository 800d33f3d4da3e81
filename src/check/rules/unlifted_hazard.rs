//! In: the `away-from` of steps and setups. Out: a finding per hazard named there that is not there.
#![doc = include_str!("unlifted_hazard.md")]

use crate::check::{Family, Rule, Run, Unit, Whole};
use crate::finding::{Finding, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "unlifted-hazard",
    family: Family::Safety,
    levels: &[Level::Warning],
    summary: "`away-from` names a hazard that is not there",
    page: include_str!("unlifted_hazard.md"),
    run: Run::Both(steps, setups),
};

fn steps(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    if !unit.base.knows_hazards() {
        return;
    }
    for (_, id, step) in unit.procedure.steps.iter() {
        if step.own_away_from.is_empty() {
            continue;
        }
        let there = unit.base.hazards_there(unit.procedure, step);
        for away in step.own_away_from.iter().filter(|a| there.iter().all(|t| t.hazard != a.value)) {
            let hazard = unit.base.hazards.id(away.value);
            out.push(
                Finding::new(RULE.name, Level::Warning, away.span, format!("step `{id}` does not meet `{hazard}`"))
                    .help("take it out, or name the hazard where it belongs")
                    .in_procedure(&unit.procedure.id)
                    .at_step(id),
            );
        }
    }
}

/// A setup's waiver is judged over all procedures; one that no step uses is `unused-entry`.
fn setups(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    if !whole.complete {
        return;
    }
    for (ix, id, setup) in whole.base.setups.iter() {
        let uses: Vec<_> =
            whole.digests.iter().flat_map(|d| &d.setup_hazards).filter(|(s, _)| *s == ix).map(|(_, met)| met).collect();
        if uses.is_empty() {
            continue;
        }
        for away in setup.away_from.iter().filter(|a| uses.iter().all(|met| !met.contains(a.value))) {
            let hazard = whole.base.hazards.id(away.value);
            out.push(
                Finding::new(
                    RULE.name,
                    Level::Warning,
                    away.span,
                    format!("no step that uses the setup `{id}` meets `{hazard}`"),
                )
                .help("take it out, or name the hazard where it belongs"),
            );
        }
    }
}
