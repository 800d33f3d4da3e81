//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("missing_figure.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "missing-figure",
    family: Family::Pages,
    levels: &[Level::Error],
    summary: "A picture that is not under figures/",
    page: include_str!("missing_figure.md"),
    run: Run::NotYet,
};
