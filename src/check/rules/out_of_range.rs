//! In: the measuring steps, their instruments and ranges. Out: a finding per entry of `with` that cannot show an end point.
#![doc = include_str!("out_of_range.md")]

use crate::check::places::within;
use crate::check::ranges::{Used, used};
use crate::check::words::list;
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{EquipmentIx, InstrumentRange, Set, Step, Vehicle};
use crate::quantity::{Amount, Quantity};
use crate::source::Spanned;

/// The rule.
pub static RULE: Rule = Rule {
    name: "out-of-range",
    family: Family::Instruments,
    levels: &[Level::Error],
    summary: "A limit that the step's instrument cannot show",
    page: include_str!("out_of_range.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    for (ix, id, step) in unit.procedure.steps.iter() {
        let Some(measure) = step.measure() else { continue };
        // A worked-out reading is shown by nothing; its parts are.
        if measure.spec.as_ref().is_some_and(|s| unit.base.specs[s.value].worked_out.is_some()) {
            continue;
        }
        if step.shared.with.is_empty() {
            continue;
        }
        let ranges = used(unit.base, step, measure, &unit.analysis.vehicles_at(ix));
        for with in &step.shared.with {
            judge(unit, id, step, measure.quantity, with, &ranges, out);
        }
    }
}

/// One entry of `with`: within `a or b` one able instrument is enough; those that don't measure the quantity don't count.
fn judge(
    unit: &Unit<'_>,
    id: &str,
    step: &Step,
    quantity: Quantity,
    with: &Spanned<Vec<EquipmentIx>>,
    ranges: &[(Set<Vehicle>, Vec<Used<'_>>)],
    out: &mut Vec<Finding>,
) {
    let able: Vec<(EquipmentIx, &InstrumentRange)> = with
        .value
        .iter()
        .filter_map(|e| Some((*e, unit.base.equipment[*e].measures.iter().find(|m| m.quantity.value == quantity)?)))
        .collect();
    if able.is_empty() {
        return;
    }
    let beyond = |end: &Amount| {
        able.iter().all(|(_, m)| m.range.as_ref().is_some_and(|range| !range.set.contains_value(&end.value)))
    };
    let mut first: Option<(&Amount, &Used<'_>)> = None;
    let mut missed: Set<Vehicle> = Set::new();
    for (vehicles, ranges) in ranges {
        let mut ends = ranges.iter().flat_map(|range| range.ends().map(move |end| (end, range)));
        if let Some(end) = ends.find(|(end, _)| beyond(end)) {
            missed = missed.or(vehicles);
            first = first.or(Some(end));
        }
    }
    let Some((end, range)) = first else { return };
    let names: Vec<&str> = able.iter().map(|(e, _)| unit.base.equipment.id(*e)).collect();
    let shown: Vec<&str> = able.iter().filter_map(|(_, m)| m.range.as_ref()).map(|r| r.text.value.as_str()).collect();
    let verb = if names.len() == 1 { "shows" } else { "show" };
    let message = format!("{} {verb} {}, the limit is {}", list(&names), shown.join(" and "), end.show_in(end.unit));
    let vehicles = missed.iter().map(|v| unit.base.vehicles.id(v));
    let mut finding = Finding::new(RULE.name, Level::Error, within(step, with.span), message)
        .label(range.span, format!("the limit {}", end.show_in(end.unit)))
        .help("name an instrument that can show it, or an alternative with `or`")
        .in_procedure(&unit.procedure.id)
        .at_step(id)
        .on_vehicles(vehicles);
    for (_, m) in able {
        if let Some(range) = &m.range {
            finding = finding.label(range.text.span, "what it can show");
        }
    }
    out.push(finding);
}
