//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("no_confirmation.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-confirmation",
    family: Family::Repair,
    levels: &[Level::Warning],
    summary: "Nothing says how the repair is confirmed",
    page: include_str!("no_confirmation.md"),
    run: Run::NotYet,
};
