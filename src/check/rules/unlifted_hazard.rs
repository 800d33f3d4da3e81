//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("unlifted_hazard.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "unlifted-hazard",
    family: Family::Safety,
    levels: &[Level::Warning],
    summary: "`away-from` names a hazard that is not there",
    page: include_str!("unlifted_hazard.md"),
    run: Run::NotYet,
};
