//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("heading_without_step.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "heading-without-step",
    family: Family::Shape,
    levels: &[Level::Warning],
    summary: "A heading's id matches no step while a step lacks its heading",
    page: include_str!("heading_without_step.md"),
    run: Run::NotYet,
};
