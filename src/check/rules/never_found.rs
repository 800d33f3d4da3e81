//! In: one procedure. Out: causes that no possible path ends in a verdict on.
#![doc = include_str!("never_found.md")]

use crate::check::verdicts::verdicts;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{Cause, NO_FAULT, Set, Way};

/// The rule.
pub static RULE: Rule = Rule {
    name: "never-found",
    family: Family::Evidence,
    levels: &[Level::Warning],
    summary: "A cause that no possible way ends with",
    page: include_str!("never_found.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let procedure = unit.procedure;
    if unit.analysis.classes.is_empty() {
        return;
    }
    let mut named: Set<Cause> = Set::new();
    let mut normal = false;
    for verdict in verdicts(unit).filter(|v| v.is_reached(unit)) {
        match verdict.way {
            Way::Shows(cause) => named.insert(*cause),
            Way::Found(causes) => causes.iter().for_each(|c| named.insert(*c)),
            Way::FoundLeft => named = named.or(&verdict.ever_left(unit)),
            Way::Normal(_) => normal = true,
            _ => {}
        }
    }
    for (ix, id, cause) in procedure.causes.iter() {
        let found = if id == NO_FAULT { normal || cause.share.is_none() } else { named.contains(ix) };
        if found || only_by_unreachable(unit, ix, id) {
            continue;
        }
        let message = match id {
            NO_FAULT => "no way ends in `normal`, though `no-fault` has a share".to_owned(),
            _ if !cause.on.meets(&procedure.applies) => format!("`{id}` exists on no vehicle of this page"),
            _ => format!("no way ends in a verdict on `{id}`"),
        };
        let help = match id {
            NO_FAULT => "add a result with `normal:`, or take the share out".to_owned(),
            _ if !cause.on.meets(&procedure.applies) => "take it out, or mend its `for`".to_owned(),
            _ => format!("add a result with `shows: {id}` or `found: {id}`, or take the cause out"),
        };
        out.push(
            Finding::new(RULE.name, Level::Warning, cause.place.key, message)
                .in_procedure(procedure.id.clone())
                .of_cause(id)
                .help(help),
        );
    }
}

/// Whether an unreachable step would name it: then that step is the fault, and is told.
fn only_by_unreachable(unit: &Unit<'_>, cause: crate::model::CauseIx, id: &str) -> bool {
    unit.procedure.steps.iter().filter(|(at, _, _)| !unit.analysis.may_enter(*at)).any(|(_, _, step)| {
        let ways = step.results.iter().map(|r| &r.way).chain(step.without.iter().map(|w| &w.way));
        ways.into_iter().any(|way| match way {
            Way::Shows(shown) => *shown == cause,
            Way::Found(causes) => causes.contains(&cause),
            Way::FoundLeft => true,
            Way::Normal(_) => id == NO_FAULT,
            _ => false,
        })
    })
}
