//! In: one procedure. Out: readings that some possible path brings to a step and that two results cover.
#![doc = include_str!("reading_overlap.md")]

use crate::check::readings::doubled;
use crate::check::{Family, Rule, Run, Unit, words};
use crate::finding::{Finding, Label, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "reading-overlap",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A reading that two results cover",
    page: include_str!("reading_overlap.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    report(unit, out, RULE.name, Level::Error, false);
}

/// Overlaps of one kind: true ones, or those that only rounding makes.
pub(super) fn report(unit: &Unit<'_>, out: &mut Vec<Finding>, rule: &'static str, level: Level, rounding: bool) {
    for (at, id, step) in unit.procedure.steps.iter() {
        for both in doubled(unit, at).into_iter().filter(|d| d.rounding == rounding) {
            let (earlier, later) = (&step.results[both.results.0], &step.results[both.results.1]);
            let readings = both.readings.join("; ");
            let why = if rounding { ": the two ends are written in different units" } else { "" };
            let message = format!("two results at `{id}` for a reading {readings}{why}");
            let vehicles = words::vehicles(unit.base, &both.vehicles);
            // Two earlier results that cover the same of a later one are told in one finding.
            let told = out.iter_mut().find(|f| f.span == later.text.span && f.message == message);
            if let Some(finding) = told {
                finding.labels.push(Label { span: earlier.text.span, message: "covers it too".into() });
                finding.vehicles.extend(vehicles);
                finding.vehicles.sort_unstable();
                finding.vehicles.dedup();
                finding.mend = None;
                continue;
            }
            let mut finding = words::at_step(unit.procedure, at, rule, level, later.text.span, message)
                .label(earlier.text.span, "covers it too")
                .on_vehicles(vehicles);
            finding.readings = both.readings;
            finding = match both.mend {
                Some((result, text)) => {
                    let span = step.results[result].text.span;
                    finding.help(format!("write `{text}`")).mend(format!("write `{text}`"), span, text)
                }
                None => finding.help("change one of them so that each reading has one result"),
            };
            out.push(finding);
        }
    }
}
