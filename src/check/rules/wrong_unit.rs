//! In: nothing here. Out: the page and the levels; the stages that read and resolve speak, as they go.
#![doc = include_str!("wrong_unit.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "wrong-unit",
    family: Family::Values,
    levels: &[Level::Error],
    summary: "An amount without a unit, or in a unit of another quantity",
    page: include_str!("wrong_unit.md"),
    run: Run::Elsewhere,
};
