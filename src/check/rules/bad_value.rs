//! In: nothing here. Out: the page and the levels; the stages that read and resolve speak, as they go.
#![doc = include_str!("bad_value.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "bad-value",
    family: Family::Shape,
    levels: &[Level::Error],
    summary: "A value that its key does not take",
    page: include_str!("bad_value.md"),
    run: Run::Elsewhere,
};
