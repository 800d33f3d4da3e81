//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("blocked_bay.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "blocked-bay",
    family: Family::Flow,
    levels: &[Level::Error, Level::Note],
    summary: "A step needs equipment that no bay has, or not every bay",
    page: include_str!("blocked_bay.md"),
    run: Run::NotYet,
};
