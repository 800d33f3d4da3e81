//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("impossible_cause.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "impossible-cause",
    family: Family::Evidence,
    levels: &[Level::Warning],
    summary: "A step whose every result rules out the same cause",
    page: include_str!("impossible_cause.md"),
    run: Run::NotYet,
};
