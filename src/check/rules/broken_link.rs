//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("broken_link.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "broken-link",
    family: Family::Pages,
    levels: &[Level::Error],
    summary: "A link that leads nowhere",
    page: include_str!("broken_link.md"),
    run: Run::NotYet,
};
