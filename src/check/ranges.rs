//! The ranges that a step judges a reading by, on one vehicle.
//!
//! In: a measuring step and a vehicle. Out: [`Used`]: each range that a result names itself, and each range of a band
//! that a result names (a result `below spec` names `in spec`).

use std::collections::BTreeSet;

use crate::model::{Base, Condition, Measure, Step, VehicleIx};
use crate::quantity::{Amount, Phrase};
use crate::source::Span;

/// A range that a step judges by.
#[derive(Clone, Debug)]
pub struct Used<'a> {
    /// Its lower end.
    pub low: Option<&'a Amount>,
    /// Its upper end.
    pub high: Option<&'a Amount>,
    /// Where it is written: the result's `if`, or the spec's band.
    pub span: Span,
}

impl<'a> Used<'a> {
    /// Its end points, lowest first.
    pub fn ends(&self) -> impl Iterator<Item = &'a Amount> + use<'a> {
        self.low.into_iter().chain(self.high)
    }
}

/// The ranges of a step on a vehicle, in the order of the results that name them, each once.
pub fn used<'a>(base: &'a Base, step: &'a Step, measure: &Measure, vehicle: VehicleIx) -> Vec<Used<'a>> {
    let mut ranges = Vec::new();
    let mut bands: BTreeSet<&str> = BTreeSet::new();
    for result in &step.results {
        let Condition::Reading(phrase) = &result.condition else { continue };
        for part in phrase.parts() {
            match part {
                Phrase::Range { .. } => add(&mut ranges, part, result.text.span),
                Phrase::Band(name) => {
                    bands.insert(name);
                }
                Phrase::InSpec | Phrase::BelowSpec | Phrase::AboveSpec | Phrase::OutOfSpec => {
                    bands.insert("in spec");
                }
                _ => {}
            }
        }
    }
    let spec = measure.spec.as_ref().map(|s| &base.specs[s.value]);
    for band in spec.and_then(|s| s.bands(vehicle)).unwrap_or_default() {
        if bands.contains(band.name.as_str()) {
            for part in band.phrase.parts() {
                add(&mut ranges, part, band.text.span);
            }
        }
    }
    ranges
}

fn add<'a>(ranges: &mut Vec<Used<'a>>, part: &'a Phrase, span: Span) {
    if let Phrase::Range { low, high } = part {
        ranges.push(Used { low: low.as_ref().map(|e| &e.amount), high: high.as_ref().map(|e| &e.amount), span });
    }
}
