//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("dead_result.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "dead-result",
    family: Family::Flow,
    levels: &[Level::Error, Level::Note],
    summary: "No possible reading takes this result",
    page: include_str!("dead_result.md"),
    run: Run::NotYet,
};
