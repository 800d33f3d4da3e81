//! In: one procedure. Out: steps that a bay can't take for want of equipment, without another way.
#![doc = include_str!("blocked_bay.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::model::{Base, Bay, EquipmentIx, Step};

/// The rule.
pub static RULE: Rule = Rule {
    name: "blocked-bay",
    family: Family::Flow,
    levels: &[Level::Error, Level::Note],
    summary: "A step needs equipment that no bay has, or not every bay",
    page: include_str!("blocked_bay.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    let (base, procedure) = (unit.base, unit.procedure);
    if base.shop.bays.is_empty() {
        return;
    }
    let mut blocked: Vec<(String, Vec<String>)> = base.shop.bays.ids().map(|b| (b.to_owned(), Vec::new())).collect();
    for (at, id, step) in procedure.steps.iter() {
        if step.without.is_some() || !unit.analysis.enters(at) {
            continue;
        }
        let lacking: Vec<bool> = base.shop.bays.iter().map(|(_, _, bay)| !has_all(base, step, bay)).collect();
        if lacking.iter().all(|l| *l) {
            let needs: Vec<String> = needs(base, step).into_iter().map(|n| names(base, &n)).collect();
            let span = step.shared.with.first().map_or(step.place.key, |w| w.span);
            let span = if step.place.whole.start <= span.start && span.end <= step.place.whole.end {
                span
            } else {
                step.place.key
            };
            out.push(
                words::at_step(procedure, at, RULE.name, Level::Error, span, format!("no bay has what `{id}` needs"))
                    .fact(format!("it needs {}", needs.join(", and ")))
                    .help("add `without:` with another way, or give a bay the equipment in shop.yaml"),
            );
            continue;
        }
        for ((_, steps), lacks) in blocked.iter_mut().zip(&lacking) {
            if *lacks {
                steps.push(id.to_owned());
            }
        }
    }
    for (bay, steps) in blocked.into_iter().filter(|(_, steps)| !steps.is_empty()) {
        let first = procedure.steps.get(&steps[0]).map_or(procedure.complaint.span, |s| s.place.key);
        out.push(
            Finding::new(
                RULE.name,
                Level::Note,
                first,
                format!("bay `{bay}` lacks the equipment for {} and has no other way", words::list(&steps)),
            )
            .in_procedure(procedure.id.clone())
            .at_step(steps[0].clone())
            .help("add `without:` to these steps"),
        );
    }
}

/// What a step needs: its own equipment and its setups'; each item a list of alternatives.
fn needs(base: &Base, step: &Step) -> Vec<Vec<EquipmentIx>> {
    let own = step.shared.with.iter().map(|w| w.value.clone());
    let setups = step.shared.setup.iter().flat_map(|s| base.setups[s.value].with.iter().map(|w| w.value.clone()));
    own.chain(setups).collect()
}

fn has_all(base: &Base, step: &Step, bay: &Bay) -> bool {
    needs(base, step).iter().all(|alternatives| alternatives.iter().any(|e| bay.has.contains(*e)))
}

fn names(base: &Base, alternatives: &[EquipmentIx]) -> String {
    alternatives.iter().map(|e| format!("`{}`", base.equipment.id(*e))).collect::<Vec<_>>().join(" or ")
}
