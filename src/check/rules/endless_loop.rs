//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("endless_loop.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "endless-loop",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "A ring of tests that nothing on the way changes",
    page: include_str!("endless_loop.md"),
    run: Run::NotYet,
};
