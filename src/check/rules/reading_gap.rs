//! In: one procedure. Out: readings that some possible path brings to a step and that no result covers.
#![doc = include_str!("reading_gap.md")]

use crate::check::readings::uncovered;
use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Level};
use crate::quantity::ANY;

/// The rule.
pub static RULE: Rule = Rule {
    name: "reading-gap",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A reading that can be taken and that no result covers",
    page: include_str!("reading_gap.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    report(unit, out, RULE.name, Level::Error, false);
}

/// Gaps of one kind: true ones, or those that only rounding makes.
pub(super) fn report(unit: &Unit<'_>, out: &mut Vec<Finding>, rule: &'static str, level: Level, rounding: bool) {
    for (at, id, step) in unit.procedure.steps.iter() {
        for gap in uncovered(unit, at).into_iter().filter(|g| g.rounding == rounding) {
            let Some(place) = gap.between.1.or(gap.between.0).or((!step.results.is_empty()).then_some(0)) else {
                continue;
            };
            let readings = gap.readings.join("; ");
            let message = if rounding {
                format!("no result at `{id}` for a reading {readings}: its two ends are written in different units")
            } else if gap.readings.iter().any(|r| r == ANY) {
                format!("no result at `{id}` for any reading")
            } else {
                format!("no result at `{id}` for a reading {readings}")
            };
            let mut finding = words::at_step(unit.procedure, at, rule, level, step.results[place].text.span, message)
                .on_vehicles(words::vehicles(unit.base, &gap.vehicles));
            if let (Some(below), Some(_)) = gap.between {
                finding = finding.label(step.results[below].text.span, gap.covers.0.clone());
            }
            finding.readings = gap.readings;
            finding = match gap.mend {
                Some((result, text)) => finding
                    .help(format!("write `{text}`, or add a result for the readings between"))
                    .mend(format!("write `{text}`"), step.results[result].text.span, text),
                None => finding.help("add a result for these readings, or `any other reading`"),
            };
            out.push(finding);
        }
    }
}
