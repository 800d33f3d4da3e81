//! What a finding is about, without where it stands: the same after lines have moved.
//!
//! In: findings in order, and their sources. Out: a [`Fingerprint`] for each. Two findings may have the same one: they are
//! then counted, in the order of the file.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::finding::Finding;
use crate::source::Sources;

/// The subject of the one that stands for many: neither their number nor the first of them, so that it stays known.
const MORE: &str = "and more of this kind";

/// Rule, procedure (else file), step and subject of a finding. Never its line, its level or its wording.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fingerprint {
    /// The rule.
    pub rule: String,
    /// The procedure it is about; where it is about none, the file, with `/`.
    #[serde(rename = "in")]
    pub place: String,
    /// The step.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub step: String,
    /// The cause, else the words that the finding stands on, white space made plain.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub subject: String,
}

impl Fingerprint {
    /// The fingerprint of one finding.
    pub fn of(finding: &Finding, sources: &Sources) -> Self {
        let place = finding.procedure.clone().unwrap_or_else(|| sources.file(finding.span.file).path().to_owned());
        let words = || sources.text(finding.span).split_whitespace().collect::<Vec<_>>().join(" ");
        Self {
            rule: finding.rule.to_owned(),
            place,
            step: finding.step.clone().unwrap_or_default(),
            subject: match finding.more {
                0 => short(finding.cause.clone().unwrap_or_else(words)),
                _ => MORE.to_owned(),
            },
        }
    }

    /// Sixteen hexadecimal digits of the SHA-256 of its parts.
    pub fn digest(&self) -> String {
        let mut hash = Sha256::new();
        for part in [&self.rule, &self.place, &self.step, &self.subject] {
            hash.update(part.as_bytes());
            hash.update([0]);
        }
        hash.finalize().iter().take(8).fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
    }
}

/// A long subject (a whole block under a finding) as its beginning and a digest of all of it.
fn short(subject: String) -> String {
    const MOST: usize = 80;
    match subject.char_indices().nth(MOST) {
        None => subject,
        Some((end, _)) => {
            let hash = Sha256::digest(subject.as_bytes());
            format!("{}… {:02x}{:02x}{:02x}{:02x}", &subject[..end], hash[0], hash[1], hash[2], hash[3])
        }
    }
}

/// Each finding's fingerprint, with how many equal ones stand before it.
pub fn counted(findings: &[Finding], sources: &Sources) -> Vec<(Fingerprint, usize)> {
    let mut seen: BTreeMap<Fingerprint, usize> = BTreeMap::new();
    findings
        .iter()
        .map(|finding| {
            let print = Fingerprint::of(finding, sources);
            let count = seen.entry(print.clone()).or_insert(0);
            *count += 1;
            (print, *count - 1)
        })
        .collect()
}
