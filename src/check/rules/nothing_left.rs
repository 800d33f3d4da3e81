//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("nothing_left.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "nothing-left",
    family: Family::Evidence,
    levels: &[Level::Warning],
    summary: "A test is entered when every listed cause is already ruled out",
    page: include_str!("nothing_left.md"),
    run: Run::NotYet,
};
