//! In: nothing here. Out: the page and the level; the sink speaks, when all findings are in.
#![doc = include_str!("unused_allowance.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unused-allowance",
    family: Family::Review,
    levels: &[Level::Warning],
    summary: "An allowance that allows nothing",
    page: include_str!("unused_allowance.md"),
    run: Run::Elsewhere,
};
