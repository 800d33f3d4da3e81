//! In: the hazards that each step meets. Out: a finding per step and pair that must never meet, at what brings the second.
#![doc = include_str!("hazard_conflict.md")]

use crate::check::places::within;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{HazardFrom, Procedure, Step, There};
use std::collections::BTreeSet;

/// The rule.
pub static RULE: Rule = Rule {
    name: "hazard-conflict",
    family: Family::Safety,
    levels: &[Level::Error],
    summary: "Two hazards meet in one step that must never meet",
    page: include_str!("hazard_conflict.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    if !unit.base.knows_hazards() {
        return;
    }
    let mut told_above = BTreeSet::new();
    for (_, id, step) in unit.procedure.steps.iter() {
        // What a setup keeps away can't be known while it can't be read.
        if step.shared.setup.iter().any(|setup| unit.base.is_faulty(&unit.base.setups[setup.value].place)) {
            continue;
        }
        let met = unit.base.hazards_met(unit.procedure, step);
        let mut told = BTreeSet::new();
        for (at, second) in met.iter().enumerate() {
            for first in &met[..at] {
                let pair = (first.hazard.min(second.hazard), first.hazard.max(second.hazard));
                if !never(unit, first, second) || !told.insert(pair) {
                    continue;
                }
                // Brought together above the steps: one fault of the procedure, not one of each step.
                if is_above(second) && !told_above.insert(pair) {
                    continue;
                }
                out.push(finding(unit, id, step, first, second));
            }
        }
    }
}

fn is_above(there: &There) -> bool {
    matches!(there.from, HazardFrom::Procedure | HazardFrom::System(_))
}

/// `never-with` holds both ways.
fn never(unit: &Unit<'_>, a: &There, b: &There) -> bool {
    let names =
        |one: &There, other: &There| unit.base.hazards[one.hazard].never_with.iter().any(|h| h.value == other.hazard);
    names(a, b) || names(b, a)
}

fn finding(unit: &Unit<'_>, id: &str, step: &Step, first: &There, second: &There) -> Finding {
    let hazards = &unit.base.hazards;
    let (one, other) = (hazards.id(second.hazard), hazards.id(first.hazard));
    let message = format!("`{one}` and `{other}` meet here and must never meet");
    let mut found = if is_above(second) {
        Finding::new(RULE.name, Level::Error, second.span, message)
    } else {
        Finding::new(RULE.name, Level::Error, within(step, second.span), message).at_step(id)
    };
    if first.span != second.span {
        found = found.label(first.span, format!("brings `{other}`"));
    }
    let rule = hazards[second.hazard].never_with.iter().find(|h| h.value == first.hazard);
    let rule = rule.or_else(|| hazards[first.hazard].never_with.iter().find(|h| h.value == second.hazard));
    if let Some(rule) = rule {
        found = found.label(rule.span, "must never meet");
    }
    found
        .fact(format!("{}; {}", from(unit, unit.procedure, first, other), from(unit, unit.procedure, second, one)))
        .help(format!(
            "keep one of them away: put `away-from: [{other}]` on a setup that really does, or change the step"
        ))
        .in_procedure(&unit.procedure.id)
}

/// What brings a hazard, in words.
fn from(unit: &Unit<'_>, procedure: &Procedure, there: &There, hazard: &str) -> String {
    let who = match there.from {
        HazardFrom::Procedure => format!("procedure `{}`", procedure.id),
        HazardFrom::System(system) => format!("system `{}`", unit.base.systems.id(system)),
        HazardFrom::Setup(setup) => format!("setup `{}`", unit.base.setups.id(setup)),
        HazardFrom::Check => "the check".to_owned(),
        HazardFrom::Equipment(one) => format!("`{}`", unit.base.equipment.id(one)),
        HazardFrom::Step => "the step itself".to_owned(),
    };
    format!("{who} brings `{hazard}`")
}
