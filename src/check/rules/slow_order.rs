//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("slow_order.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "slow-order",
    family: Family::Order,
    levels: &[Level::Note],
    summary: "Another order of the same tests is faster on average",
    page: include_str!("slow_order.md"),
    run: Run::NotYet,
};
