//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("unsourced_value.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unsourced-value",
    family: Family::Values,
    levels: &[Level::Warning],
    summary: "A limit that does not say where it comes from",
    page: include_str!("unsourced_value.md"),
    run: Run::NotYet,
};
