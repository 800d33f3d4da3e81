//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("never_found.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "never-found",
    family: Family::Evidence,
    levels: &[Level::Warning],
    summary: "A cause that no possible way ends with",
    page: include_str!("never_found.md"),
    run: Run::NotYet,
};
