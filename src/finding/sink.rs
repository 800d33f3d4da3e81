//! The sink: it alone knows the shop's levels, the allowances, duplicates and order.
//!
//! In: findings as the rules made them, in any order. Out: a [`Report`].

use std::collections::BTreeMap;

use super::fold::fold;
use super::{Allowance, Finding, Level, RuleName};
use crate::source::{Sources, Span};

/// The levels that `shop.yaml` sets.
#[derive(Clone, Debug, Default)]
pub struct Levels {
    set: BTreeMap<RuleName, Level>,
    strongest: BTreeMap<RuleName, Level>,
}

impl Levels {
    /// Sets a rule's level. `strongest` is the rule's gravest default.
    pub fn set(&mut self, rule: RuleName, level: Level, strongest: Level) {
        self.set.insert(rule, level);
        self.strongest.insert(rule, strongest);
    }

    /// What the rule's finding of this default level is told as. A rule with two levels: the setting
    /// moves the strongest form; the weaker stays, unless it would then be the higher.
    pub fn apply(&self, rule: RuleName, default: Level) -> Level {
        match (self.set.get(rule), self.strongest.get(rule)) {
            (Some(set), Some(strongest)) if default < *strongest => default.min(*set),
            (Some(set), _) => *set,
            _ => default,
        }
    }
}

/// How many of each level.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Procedures in the base.
    pub procedures: usize,
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Notes.
    pub notes: usize,
    /// Known ones that were left out (`lint --since`).
    pub known: usize,
}

/// All that is told, in order.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// Findings in the order of file, line, column, rule.
    pub findings: Vec<Finding>,
    /// The counts.
    pub summary: Summary,
    /// Allowances with what they allowed, for the page about the base.
    pub allowed: Vec<(Allowance, usize)>,
}

impl Report {
    /// Whether the knowledge base has errors.
    pub fn has_errors(&self) -> bool {
        self.summary.errors > 0
    }

    /// Counts again after findings were taken out.
    pub fn recount(&mut self) {
        let count = |level| self.findings.iter().filter(|f| f.level == level).map(Finding::weight).sum();
        self.summary.errors = count(Level::Error);
        self.summary.warnings = count(Level::Warning);
        self.summary.notes = count(Level::Note);
    }
}

/// One fault, one finding: what stands wholly in a text that another finding told is not read as it is meant.
fn leave_out_hidden(findings: &mut Vec<Finding>) {
    let mut hidden: Vec<Span> = findings.iter().filter_map(|f| f.hides).collect();
    if hidden.is_empty() {
        return;
    }
    hidden.sort_unstable();
    findings.retain(|finding| {
        let span = finding.span;
        let next = hidden.partition_point(|h| (h.file, h.start) <= (span.file, span.start));
        let holds = |h: &Span| h.file == span.file && span.end <= h.end;
        finding.rule == "bad-front-matter" || !next.checked_sub(1).is_some_and(|at| holds(&hidden[at]))
    });
}

/// Applies levels and allowances, drops duplicates, sorts, and counts those of a kind that are too many to tell.
///
/// An allowance counts as used if the rule would have spoken at any level but `off`; one that allows
/// nothing becomes a finding of `unused_rule` itself.
pub fn finish(
    mut findings: Vec<Finding>,
    levels: &Levels,
    allowances: Vec<Allowance>,
    unused_rule: (RuleName, Level),
    sources: &Sources,
    procedures: usize,
) -> Report {
    for finding in &mut findings {
        finding.level = levels.apply(finding.rule, finding.level);
    }
    findings.retain(|f| f.level != Level::Off);
    leave_out_hidden(&mut findings);
    let mut allowed: Vec<(Allowance, usize)> = allowances.into_iter().map(|a| (a, 0)).collect();
    if !allowed.is_empty() {
        findings.retain(|finding| {
            let mut told = true;
            for (allowance, uses) in allowed.iter_mut().filter(|(a, _)| a.covers(finding)) {
                debug_assert_eq!(allowance.rule, finding.rule);
                *uses += finding.weight();
                told = false;
            }
            told
        });
    }
    let unused_level = levels.apply(unused_rule.0, unused_rule.1);
    if unused_level != Level::Off {
        for (allowance, _) in allowed.iter().filter(|(allowance, uses)| *uses == 0 && allowance.judged) {
            findings.push(
                Finding::new(
                    unused_rule.0,
                    unused_level,
                    allowance.span,
                    format!("the allowance of `{}` allows nothing", allowance.rule),
                )
                .in_procedure(allowance.procedure.clone())
                .help("take the line out"),
            );
        }
    }
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.span.start, f.span.end, f.rule);
        sources
            .file(a.span.file)
            .path()
            .cmp(sources.file(b.span.file).path())
            .then_with(|| key(a).cmp(&key(b)))
            .then_with(|| a.message.cmp(&b.message))
    });
    // one fault, one finding; what is told twice in one place may be told of other vehicles
    findings.dedup_by(|a, b| {
        let same = a.rule == b.rule && a.span == b.span && a.message == b.message;
        if same && a.vehicles != b.vehicles && !a.vehicles.is_empty() && !b.vehicles.is_empty() {
            b.vehicles.append(&mut a.vehicles);
            b.vehicles.sort();
            b.vehicles.dedup();
        }
        same
    });
    fold(&mut findings);
    let mut report = Report { findings, summary: Summary { procedures, ..Summary::default() }, allowed };
    report.recount();
    report
}
