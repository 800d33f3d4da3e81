//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("no_fix.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-fix",
    family: Family::Repair,
    levels: &[Level::Warning],
    summary: "A cause that does not say how it is put right",
    page: include_str!("no_fix.md"),
    run: Run::NotYet,
};
