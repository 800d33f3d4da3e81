//! In: the steps that measure a voltage, their ranges and hazards. Out: a finding per step over 60 V dc or 30 V ac (the usual
//! limits of touch voltage in the trade's rules) that does not meet the hazard.
#![doc = include_str!("high_voltage.md")]

use crate::check::places::within;
use crate::check::ranges::{Used, used};
use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};
use crate::model::{Set, Vehicle};
use crate::quantity::{Amount, Quantity, Rational, number};

/// The rule.
pub static RULE: Rule = Rule {
    name: "high-voltage",
    family: Family::Safety,
    levels: &[Level::Error],
    summary: "A reading over 60 V dc or 30 V ac without the high-voltage hazard",
    page: include_str!("high_voltage.md"),
    run: Run::Procedure(check),
};

/// The hazard that such a step must meet.
const HAZARD: &str = "high-voltage";

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    if !unit.base.knows_hazards() {
        return;
    }
    for (ix, id, step) in unit.procedure.steps.iter() {
        let Some(measure) = step.measure() else { continue };
        let Some((most, words)) = limit(measure.quantity) else { continue };
        let met = unit.base.hazards_met(unit.procedure, step);
        if met.iter().any(|t| unit.base.hazards.id(t.hazard) == HAZARD) {
            continue;
        }
        let mut over: Vec<(&Amount, Used<'_>)> = Vec::new();
        let mut vehicles: Set<Vehicle> = Set::new();
        for (on, ranges) in used(unit.base, step, measure, &unit.analysis.vehicles_at(ix)) {
            let before = over.len();
            for range in ranges {
                over.extend(range.ends().filter(|e| e.value.abs() > most).map(|e| (e, range.clone())));
            }
            if over.len() > before {
                vehicles = vehicles.or(&on);
            }
        }
        // The highest, so that the witness is the one that hurts most; the first of equals.
        let Some((end, range)) = over.iter().rev().max_by(|a, b| a.0.value.abs().cmp(&b.0.value.abs())) else {
            continue;
        };
        let vehicles = vehicles.iter().map(|v| unit.base.vehicles.id(v));
        out.push(
            Finding::new(
                RULE.name,
                Level::Error,
                within(step, measure.span),
                format!("{} is over {words}, and the step does not meet the hazard `{HAZARD}`", end.show_in(end.unit)),
            )
            .label(range.span, format!("the limit {}", end.show_in(end.unit)))
            .help(help(unit))
            .in_procedure(&unit.procedure.id)
            .at_step(id)
            .on_vehicles(vehicles),
        );
    }
}

fn limit(quantity: Quantity) -> Option<(Rational, &'static str)> {
    match quantity {
        Quantity::DcVoltage => Some((number::ratio(60, 1), "60 V dc")),
        Quantity::AcVoltage => Some((number::ratio(30, 1), "30 V ac")),
        _ => None,
    }
}

fn help(unit: &Unit<'_>) -> String {
    if unit.base.hazards.find(HAZARD).is_some() {
        format!("add `hazards: [{HAZARD}]` to the step")
    } else {
        format!("write the hazard `{HAZARD}` in `hazards.yaml` and add `hazards: [{HAZARD}]` to the step")
    }
}
