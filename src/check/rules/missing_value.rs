//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("missing_value.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "missing-value",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A vehicle can come to this step but has no value to measure against",
    page: include_str!("missing_value.md"),
    run: Run::NotYet,
};
