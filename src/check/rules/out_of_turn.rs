//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("out_of_turn.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "out-of-turn",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "A step can be entered before a step it must come after",
    page: include_str!("out_of_turn.md"),
    run: Run::NotYet,
};
