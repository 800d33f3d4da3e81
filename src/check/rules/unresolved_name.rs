//! In: nothing here. Out: the page and the levels; the stages that read and resolve speak, as they go.
#![doc = include_str!("unresolved_name.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unresolved-name",
    family: Family::Shape,
    levels: &[Level::Error],
    summary: "A name that stands for nothing in the knowledge base",
    page: include_str!("unresolved_name.md"),
    run: Run::Elsewhere,
};
