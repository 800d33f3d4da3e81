//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("rounding_gap.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "rounding-gap",
    family: Family::Values,
    levels: &[Level::Warning],
    summary: "Two limits in different units miss each other by less than the last digit",
    page: include_str!("rounding_gap.md"),
    run: Run::NotYet,
};
