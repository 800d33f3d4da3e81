//! In: shares of causes, and the causes that each test sees. Out: [`Testability`], how many faults the tests find and how
//! far they tell them apart (definitions of MIL-STD-2165 and IEEE 1522, from memory).

use crate::order::bits::Bits;
use crate::order::problem::{Set, first, members};
use std::collections::BTreeMap;

/// The figures of a set of tests.
#[derive(Clone, Debug, PartialEq)]
pub struct Testability {
    /// Odds of the causes that at least one test sees, out of all.
    pub detection: f64,
    /// Detected causes that no test tells apart, by their first members.
    pub groups: Vec<Set>,
    /// Causes of a group on average, each group counting once.
    pub mean_group: f64,
    /// Causes of the group in which a detected fault ends, on average.
    pub weighted_group: f64,
    sizes: Vec<(usize, f64)>,
}

impl Testability {
    /// Odds of detected causes that end in a group of at most `most`, out of those of all detected causes.
    pub fn isolation(&self, most: usize) -> f64 {
        let sum = |all: bool| -> f64 {
            self.sizes.iter().filter(|(size, _)| all || *size <= most).map(|(_, share)| share).sum()
        };
        ratio(sum(false), sum(true))
    }
}

/// Works out the figures. `sees` holds, for each test, the causes that make it fail.
pub fn testability(shares: &[f64], sees: &[Set]) -> Testability {
    let detected = sees.iter().fold(Set::NONE, |sum, set| sum | *set) & first(shares.len());
    let mut by_signature: BTreeMap<Vec<bool>, Set> = BTreeMap::new();
    for cause in members(detected) {
        let signature = sees.iter().map(|set| set.has(cause)).collect();
        *by_signature.entry(signature).or_default() |= Set::one(cause);
    }
    let mut groups: Vec<Set> = by_signature.into_values().collect();
    groups.sort_by_key(|group| group.lowest());
    let weigh = |set: Set| -> f64 { members(set).map(|cause| shares[cause]).sum() };
    let sizes: Vec<(usize, f64)> = groups.iter().map(|&group| (group.count(), weigh(group))).collect();
    let weighted: f64 = sizes.iter().map(|(size, share)| *size as f64 * share).sum();
    Testability {
        detection: ratio(weigh(detected), shares.iter().sum()),
        mean_group: ratio(detected.count() as f64, groups.len() as f64),
        weighted_group: ratio(weighted, weigh(detected)),
        groups,
        sizes,
    }
}

/// A share of nothing is none.
fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}
