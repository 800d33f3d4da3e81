//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("step_without_heading.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "step-without-heading",
    family: Family::Shape,
    levels: &[Level::Warning],
    summary: "A step has no heading in the body",
    page: include_str!("step_without_heading.md"),
    run: Run::NotYet,
};
