//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("untried_results.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "untried-results",
    family: Family::Review,
    levels: &[Level::Note],
    summary: "Results that no solved job has ever taken",
    page: include_str!("untried_results.md"),
    run: Run::NotYet,
};
