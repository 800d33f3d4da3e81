//! In: nothing here. Out: the page and the levels; not built yet, it never speaks.
#![doc = include_str!("some_shares.md")]

use crate::check::{Family, Rule, Run};
use crate::finding::Level;

/// The rule.
pub static RULE: Rule = Rule {
    name: "some-shares",
    family: Family::Shape,
    levels: &[Level::Warning],
    summary: "Some causes have a share and others have none",
    page: include_str!("some_shares.md"),
    run: Run::NotYet,
};
