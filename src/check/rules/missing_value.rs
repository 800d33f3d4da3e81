//! In: one procedure. Out: steps that a vehicle can enter whose spec has no value for it.
#![doc = include_str!("missing_value.md")]

use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "missing-value",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A vehicle can come to this step but has no value to measure against",
    page: include_str!("missing_value.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (at, id, step) in unit.procedure.steps.iter() {
        let Some((measure, spec)) = step.measure().and_then(|m| Some((m, m.spec?))) else { continue };
        let row = &unit.base.specs[spec.value];
        let lack: crate::model::Set<crate::model::Vehicle> =
            unit.analysis.vehicles_at(at).iter().filter(|v| row.entry(*v).is_none()).collect();
        // A spec whose lines could not be read was told already.
        if lack.is_empty() || row.is_faulty {
            continue;
        }
        let name = unit.base.specs.id(spec.value);
        let vehicles = words::vehicles(unit.base, &lack);
        let whom = if vehicles.is_empty() { String::new() } else { format!(" for {}", words::list(&vehicles)) };
        out.push(
            words::at_step(
                unit.procedure,
                at,
                RULE.name,
                Level::Error,
                if step.check.is_some() { step.place.key } else { measure.span },
                format!("spec `{name}` has no value{whom}, which can come to step `{id}`"),
            )
            .label(row.place.key, "the spec")
            .on_vehicles(vehicles)
            .help("add a line for it under `values:`, or write `TBD` until it is known"),
        );
    }
}
