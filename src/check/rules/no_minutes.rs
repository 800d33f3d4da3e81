//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("no_minutes.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-minutes",
    family: Family::Order,
    levels: &[Level::Note],
    summary: "A test does not say how many minutes it takes",
    page: include_str!("no_minutes.md"),
    run: Run::NotYet,
};
