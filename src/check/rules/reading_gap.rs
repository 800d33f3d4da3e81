//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("reading_gap.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "reading-gap",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A reading that can be taken and that no result covers",
    page: include_str!("reading_gap.md"),
    run: Run::NotYet,
};
