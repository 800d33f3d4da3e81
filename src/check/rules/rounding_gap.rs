//! In: one procedure. Out: gaps and overlaps whose two ends are one limit, written in different units.
#![doc = include_str!("rounding_gap.md")]

use crate::check::{Family, Rule, Run, Unit};
use crate::finding::{Finding, Level};

/// The rule.
pub static RULE: Rule = Rule {
    name: "rounding-gap",
    family: Family::Values,
    levels: &[Level::Warning],
    summary: "Two limits in different units miss each other by less than the last digit",
    page: include_str!("rounding_gap.md"),
    run: Run::Procedure(check),
};

fn check(unit: &Unit<'_>, out: &mut Vec<Finding>) {
    super::reading_gap::report(unit, out, RULE.name, Level::Warning, true);
    super::reading_overlap::report(unit, out, RULE.name, Level::Warning, true);
}
