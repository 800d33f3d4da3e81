//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("misquoted_value.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "misquoted-value",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "A value in the words is not the value in the tables",
    page: include_str!("misquoted_value.md"),
    run: Run::NotYet,
};
