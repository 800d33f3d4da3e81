//! In: nothing here. Out: the page and the levels; the stages that read and resolve speak, as they go.
#![doc = include_str!("duplicate_id.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "duplicate-id",
    family: Family::Shape,
    levels: &[Level::Error],
    summary: "Two things of one kind have the same id",
    page: include_str!("duplicate_id.md"),
    run: Run::Elsewhere,
};
