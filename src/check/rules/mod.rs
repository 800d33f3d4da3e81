//! One file per rule, its page beside it (`reading_gap.rs`, `reading_gap.md`).
//!
//! In: a unit or the whole base. Out: findings. To add a rule: the file, the page, a line here.

use super::Rule;

/// Every rule, by family as language.md lists them.
pub static RULES: &[&Rule] = &[];
