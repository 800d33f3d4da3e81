//! In: the steps that measure a spec, and which vehicles come there. Out: a finding per step with a vehicle whose value is TBD.
#![doc = include_str!("placeholder_value.md")]

use crate::check::places::within;
use crate::check::words::list;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::Limits;

/// The rule.
pub static RULE: Rule = Rule {
    name: "placeholder-value",
    family: Family::Values,
    levels: &[Level::Warning],
    summary: "A value that is still to be found out",
    page: include_str!("placeholder_value.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (ix, id, step) in unit.procedure.steps.iter() {
        let Some(measure) = step.measure() else { continue };
        let Some(named) = &measure.spec else { continue };
        let spec = &unit.base.specs[named.value];
        let waiting: Vec<_> = unit
            .analysis
            .vehicles_at(ix)
            .iter()
            .filter_map(|v| Some((v, spec.entry(v)?)))
            .filter(|(_, entry)| matches!(entry.limits, Limits::Placeholder))
            .collect();
        let vehicles: Vec<&str> = waiting.iter().map(|(v, _)| unit.base.vehicles.id(*v)).collect();
        let Some((_, first)) = waiting.first() else { continue };
        let spec_id = unit.base.specs.id(named.value);
        let message = if unit.base.is_nameless() {
            format!("the value of `{spec_id}` is still to be found")
        } else {
            format!("the value of `{spec_id}` is still to be found for {}", list(&vehicles))
        };
        let mut finding = Finding::new(RULE.name, Level::Warning, within(step, measure.span), message)
            .help("write the value in place of TBD")
            .in_procedure(&unit.procedure.id)
            .at_step(id)
            .on_vehicles(vehicles)
            .label(first.place.whole, "TBD stands here");
        for (_, entry) in &waiting[1..] {
            if finding.labels.iter().all(|l| l.span != entry.place.whole) {
                finding = finding.label(entry.place.whole, "and here");
            }
        }
        out.push(finding);
    }
}
