//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("hazard_conflict.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "hazard-conflict",
    family: Family::Safety,
    levels: &[Level::Error],
    summary: "Two hazards meet in one step that must never meet",
    page: include_str!("hazard_conflict.md"),
    run: Run::NotYet,
};
