//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("placeholder_value.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "placeholder-value",
    family: Family::Values,
    levels: &[Level::Warning],
    summary: "A value that is still to be found out",
    page: include_str!("placeholder_value.md"),
    run: Run::NotYet,
};
