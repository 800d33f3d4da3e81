//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("unsupported_verdict.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unsupported-verdict",
    family: Family::Evidence,
    levels: &[Level::Error],
    summary: "A verdict that the tests on the way do not prove",
    page: include_str!("unsupported_verdict.md"),
    run: Run::NotYet,
};
