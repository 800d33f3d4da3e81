//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("no_alt_text.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-alt-text",
    family: Family::Pages,
    levels: &[Level::Warning],
    summary: "A picture in the words without a text for those who cannot see it",
    page: include_str!("no_alt_text.md"),
    run: Run::NotYet,
};
