//! The ranges that a step judges a reading by.
//!
//! In: a measuring step and vehicles. Out: [`Used`]: each range that a result names itself, and each range of a band
//! that a result names (a result `below spec` names `in spec`); one list for the vehicles that one entry of the spec holds for.

use std::collections::BTreeSet;

use crate::model::{Base, Condition, Measure, Set, Step, Vehicle, VehicleIx};
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

/// The ranges of a step on these vehicles, together for those that read one entry of the spec; in the order of their first vehicles.
pub fn used<'a>(
    base: &'a Base,
    step: &'a Step,
    measure: &Measure,
    vehicles: &Set<Vehicle>,
) -> Vec<(Set<Vehicle>, Vec<Used<'a>>)> {
    let entry = |vehicle: VehicleIx| {
        let by_vehicle = &base.specs[measure.spec.as_ref()?.value].by_vehicle;
        by_vehicle.get(vehicle.raw()).copied().flatten()
    };
    let mut alike: Vec<(Option<usize>, Set<Vehicle>)> = Vec::new();
    for vehicle in vehicles.iter() {
        let entry = entry(vehicle);
        match alike.iter_mut().find(|(known, _)| *known == entry) {
            Some((_, vehicles)) => vehicles.insert(vehicle),
            None => alike.push((entry, Set::one(vehicle))),
        }
    }
    let of = |vehicles: &Set<Vehicle>| vehicles.first().map(|one| on(base, step, measure, one)).unwrap_or_default();
    alike
        .into_iter()
        .map(|(_, vehicles)| {
            let ranges = of(&vehicles);
            (vehicles, ranges)
        })
        .collect()
}

/// The ranges of a step on a vehicle, in the order of the results that name them, each once.
fn on<'a>(base: &'a Base, step: &'a Step, measure: &Measure, vehicle: VehicleIx) -> Vec<Used<'a>> {
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
