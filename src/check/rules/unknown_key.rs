//! In: nothing here. Out: the page and the levels; the stages that read and resolve speak, as they go.
#![doc = include_str!("unknown_key.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unknown-key",
    family: Family::Shape,
    levels: &[Level::Error],
    summary: "A key that this kind of row does not have",
    page: include_str!("unknown_key.md"),
    run: Run::Elsewhere,
};
