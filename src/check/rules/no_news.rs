//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("no_news.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-news",
    family: Family::Evidence,
    levels: &[Level::Note],
    summary: "A test whose results all lead to the same place with the same evidence",
    page: include_str!("no_news.md"),
    run: Run::NotYet,
};
