//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("case_astray.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "case-astray",
    family: Family::Review,
    levels: &[Level::Error],
    summary: "A solved job that the procedure no longer solves",
    page: include_str!("case_astray.md"),
    run: Run::NotYet,
};
