//! Findings gained and lost.
//!
//! In: the reports of both sides. Out: what only one of them has, told apart by what a finding is about, not by its line.

use std::collections::BTreeMap;

use super::side::Side;
use crate::finding::{Finding, Level};
use crate::report::fingerprint::Fingerprint;

/// A finding that only one side has.
#[derive(Clone, Debug)]
pub struct FindingChange {
    /// Its level.
    pub level: Level,
    /// The rule.
    pub rule: &'static str,
    /// The headline.
    pub message: String,
    /// The file, relative to its base.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
}

/// What the new side has more, and what the old one had more. `renamed`: old procedure ids and their new ones.
pub fn compare(old: &Side, new: &Side, renamed: &BTreeMap<&str, &str>) -> (Vec<FindingChange>, Vec<FindingChange>) {
    let before = prints(old, renamed);
    let after = prints(new, &BTreeMap::new());
    (only(new, &after, &before), only(old, &before, &after))
}

type Prints<'a> = BTreeMap<Fingerprint, Vec<&'a Finding>>;

fn prints<'a>(side: &'a Side, renamed: &BTreeMap<&str, &str>) -> Prints<'a> {
    let mut found = Prints::new();
    for finding in &side.linted.report.findings {
        let mut print = Fingerprint::of(finding, &side.linted.loaded.sources);
        if let Some(now) = renamed.get(print.place.as_str()) {
            (*now).clone_into(&mut print.place);
        }
        found.entry(print).or_default().push(finding);
    }
    found
}

/// Findings beyond as many as the other side has of them, in the order of the report.
fn only(side: &Side, own: &Prints<'_>, other: &Prints<'_>) -> Vec<FindingChange> {
    let mut found: Vec<&Finding> = Vec::new();
    for (print, findings) in own {
        found.extend(findings.iter().skip(other.get(print).map_or(0, Vec::len)));
    }
    found.sort_by_key(|f| (f.span.file, f.span.start, f.rule));
    found
        .into_iter()
        .map(|finding| {
            let file = side.linted.loaded.sources.file(finding.span.file);
            FindingChange {
                level: finding.level,
                rule: finding.rule,
                message: finding.message.clone(),
                file: file.path().to_owned(),
                line: file.position(finding.span.start).line,
            }
        })
        .collect()
}
