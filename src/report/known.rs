//! Findings that are known: recorded once, left out afterwards.
//!
//! In: findings, or the text of a record. Out: the text of a record; or what of a report is new. A record is one JSON object a
//! line, sorted, so that two branches' records merge line by line; a finding that stands there twice is known twice.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::fingerprint::{Fingerprint, counted};
use crate::finding::{Finding, Report};
use crate::source::Sources;

/// The version of the record that is written and read.
const VERSION: u32 = 1;

/// How often each finding is known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Known(BTreeMap<Fingerprint, usize>);

/// The record of these findings.
pub fn record(findings: &[Finding], sources: &Sources) -> String {
    let mut prints: Vec<Fingerprint> = findings.iter().map(|f| Fingerprint::of(f, sources)).collect();
    prints.sort();
    let lines = prints.iter().map(|p| json!(p).to_string() + "\n");
    std::iter::once(json!({"ruleout": "known findings", "version": VERSION}).to_string() + "\n").chain(lines).collect()
}

/// Whether a text begins as a record does.
pub fn is_record(text: &str) -> bool {
    head(text.trim_start_matches('\u{feff}').lines().next()).is_some()
}

fn head(line: Option<&str>) -> Option<Value> {
    line.and_then(|line| serde_json::from_str::<Value>(line).ok()).filter(|head| head["ruleout"] == "known findings")
}

/// Reads a record.
///
/// # Errors
/// One sentence that says which line is none of ours.
pub fn read(text: &str) -> Result<Known, String> {
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate();
    let head = head(lines.next().map(|(_, line)| line)).ok_or("it is no record that `lint --record` wrote")?;
    if head["version"] != VERSION {
        return Err(format!("it is a record of version {}: record the findings again", head["version"]));
    }
    let mut known = Known::default();
    for (at, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
        let print: Fingerprint = serde_json::from_str(line)
            .map_err(|_| format!("its line {} is no recorded finding: take the line out, or record again", at + 1))?;
        *known.0.entry(print).or_insert(0) += 1;
    }
    Ok(known)
}

impl Known {
    /// Leaves out of a report what is known, counts it there, and gives what is recorded but gone.
    pub fn leave_out(&self, report: &mut Report, sources: &Sources) -> Vec<Fingerprint> {
        let weigh = |report: &Report| report.findings.iter().map(Finding::weight).sum::<usize>();
        let all = weigh(report);
        let prints = counted(&report.findings, sources);
        let mut left = self.0.clone();
        let mut at = 0;
        report.findings.retain(|_| {
            let print = prints.get(at).map(|(print, _)| print);
            at += 1;
            match print.and_then(|p| left.get_mut(p)).filter(|n| **n > 0) {
                Some(n) => {
                    *n -= 1;
                    false
                }
                None => true,
            }
        });
        report.summary.known = all - weigh(report);
        report.recount();
        left.into_iter().flat_map(|(print, n)| std::iter::repeat_n(print, n)).collect()
    }
}
