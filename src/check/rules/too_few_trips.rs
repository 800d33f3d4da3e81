//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("too_few_trips.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "too-few-trips",
    family: Family::Repair,
    levels: &[Level::Error],
    summary: "The repair is confirmed in fewer trips than the code needs to set",
    page: include_str!("too_few_trips.md"),
    run: Run::NotYet,
};
