//! Text, never meaning: one file at a time, never fails.
//!
//! In: the text of one file. Out: trees with places and the problems found on the way.

pub mod keys;
pub mod near;
