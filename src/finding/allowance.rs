//! An author's "I know, and here is why".
//!
//! In: the entries of a procedure's `allow`. Out: whether a finding is covered by one.

use super::{Finding, RuleName};
use crate::source::Span;

/// One entry of a procedure's `allow`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allowance {
    /// The procedure's id.
    pub procedure: String,
    /// The rule that is allowed.
    pub rule: RuleName,
    /// Why.
    pub reason: String,
    /// Where the rule's name stands.
    pub span: Span,
    /// Whether the procedure could be judged: else it is not known whether this allows something.
    pub judged: bool,
}

impl Allowance {
    /// Whether this entry is about that finding: same rule, same procedure.
    pub fn covers(&self, finding: &Finding) -> bool {
        self.rule == finding.rule
            && (finding.procedure.as_deref() == Some(self.procedure.as_str()) || finding.span.file == self.span.file)
    }
}
