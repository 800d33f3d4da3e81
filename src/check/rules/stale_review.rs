//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("stale_review.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "stale-review",
    family: Family::Review,
    levels: &[Level::Warning],
    summary: "The procedure has changed since it was reviewed",
    page: include_str!("stale_review.md"),
    run: Run::NotYet,
};
