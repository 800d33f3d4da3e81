//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("reading_overlap.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "reading-overlap",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A reading that two results cover",
    page: include_str!("reading_overlap.md"),
    run: Run::NotYet,
};
