//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("high_voltage.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "high-voltage",
    family: Family::Safety,
    levels: &[Level::Error],
    summary: "A reading over 60 V dc or 30 V ac without the high-voltage hazard",
    page: include_str!("high_voltage.md"),
    run: Run::NotYet,
};
