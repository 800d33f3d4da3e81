//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("unreachable_step.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unreachable-step",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "No way through the procedure enters this step",
    page: include_str!("unreachable_step.md"),
    run: Run::NotYet,
};
