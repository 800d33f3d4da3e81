//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("ruled_out_verdict.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "ruled-out-verdict",
    family: Family::Evidence,
    levels: &[Level::Error, Level::Warning],
    summary: "A verdict on a cause that was ruled out before",
    page: include_str!("ruled_out_verdict.md"),
    run: Run::NotYet,
};
