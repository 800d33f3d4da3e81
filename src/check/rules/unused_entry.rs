//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("unused_entry.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unused-entry",
    family: Family::Values,
    levels: &[Level::Note],
    summary: "Something in the tables that nothing names",
    page: include_str!("unused_entry.md"),
    run: Run::NotYet,
};
