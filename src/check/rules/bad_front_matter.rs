//! In: nothing here. Out: the page and the levels; the stages that read and resolve speak, as they go.
#![doc = include_str!("bad_front_matter.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "bad-front-matter",
    family: Family::Shape,
    levels: &[Level::Error],
    summary: "A file cannot be read as it is written",
    page: include_str!("bad_front_matter.md"),
    run: Run::Elsewhere,
};
