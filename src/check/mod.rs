//! Opinions and no algorithms: one small file per rule with its page beside it, one list of all rules.
//!
//! In: a [`Unit`] (one procedure and all that is known of it) or a [`Whole`] (the base and a summary of every
//! procedure). Out: findings at the rules' default levels; the [sink](crate::finding::finish) does the rest.

mod drawings;
mod pages;
mod places;
mod ranges;
mod readings;
mod rule;
pub mod rules;
mod verdicts;
mod words;

pub use drawings::{Drawing, drawings};
pub use pages::{SharedPage, path_from, shared_pages};
pub use rule::{Family, Rule, Run, Unit, Whole};
pub use rules::RULES;

/// The rule of this name.
pub fn find(name: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|r| r.name == name)
}
