//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("raw_html.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "raw-html",
    family: Family::Pages,
    levels: &[Level::Warning],
    summary: "HTML in the words",
    page: include_str!("raw_html.md"),
    run: Run::NotYet,
};
