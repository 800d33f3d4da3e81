//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("no_way_out.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-way-out",
    family: Family::Flow,
    levels: &[Level::Error],
    summary: "The way goes on and on and never comes to an ending",
    page: include_str!("no_way_out.md"),
    run: Run::NotYet,
};
