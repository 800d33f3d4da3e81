//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("coarse_instrument.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "coarse-instrument",
    family: Family::Instruments,
    levels: &[Level::Warning, Level::Note],
    summary: "The instrument is not fine enough for the limit",
    page: include_str!("coarse_instrument.md"),
    run: Run::NotYet,
};
