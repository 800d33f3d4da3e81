//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("out_of_range.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "out-of-range",
    family: Family::Instruments,
    levels: &[Level::Error],
    summary: "A limit that the step's instrument cannot show",
    page: include_str!("out_of_range.md"),
    run: Run::NotYet,
};
