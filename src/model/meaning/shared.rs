//! What procedures share: specs, setups, hazards, repairs, equipment, vehicles, the shop.
//!
//! In: the tables. Out: a plain value for each row; [`shared`], all of them.

use super::super::procedure::RepairIx;
use super::super::tables::{Base, HazardIx, InstrumentRange, Limits, SetupIx, SpecIx, Vehicle};
use super::super::{Set, Table};
use super::plain::{Plain, object, rows};
use super::{after, equipment, hazard_ids, number, phrase, sorted};
use crate::quantity::{Domain, limit_set};

/// Everything that procedures share, for all vehicles.
pub fn shared(base: &Base) -> Plain<'_> {
    let all: Set<Vehicle> = base.vehicles.indexes().collect();
    let vehicles = base.vehicles.ids().filter(|id| !id.is_empty());
    object!({
        "vehicles": rows(vehicles.map(|id| (id, Plain::None))),
        "specs": table(&base.specs, |s| spec(base, s, &all)),
        "setups": table(&base.setups, |s| setup(base, s)),
        "hazards": table(&base.hazards, |h| hazard(base, h)),
        "repairs": table(&base.repairs, |r| repair(base, r)),
        "equipment": table(&base.equipment, |e| {
            let row = &base.equipment[e];
            object!({
                "measures": rows(row.measures.iter().map(|m| (m.quantity.value.name(), measures(m)))),
                "hazards": hazard_ids(base, &row.hazards),
            })
        }),
        "codes": table(&base.codes, |c| object!({"trips": base.codes[c].trips})),
        "bays": table(&base.shop.bays, |b| {
            object!({"has": sorted(base.shop.bays[b].has.iter().map(|e| base.equipment.id(e)).collect())})
        }),
        "shop": object!({"shop": object!({
            "labour rate": number(base.shop.labour_rate.as_ref()),
            "currency": base.shop.currency.as_str(),
            "default minutes": number(base.shop.default_minutes.as_ref()),
        })}),
    })
}

fn table<'a, T>(table: &'a Table<T>, row: impl Fn(super::super::Ix<T>) -> Plain<'a>) -> Plain<'a> {
    rows(table.iter().map(|(ix, id, _)| (id, row(ix))))
}

fn measures(range: &InstrumentRange) -> Plain<'static> {
    object!({
        "range": range.range.as_ref().map(|r| phrase::set(&r.set)),
        "resolution": range.resolution.as_ref().map(|r| r.value.to_string()),
        "accuracy": range.accuracy.as_ref().map(|a| format!("{:?}", a.value)),
    })
}

/// Limits per vehicle, each as the set it holds.
pub(super) fn spec<'a>(base: &'a Base, ix: SpecIx, vehicles: &Set<Vehicle>) -> Plain<'a> {
    let spec = &base.specs[ix];
    let domain = Domain::new(spec.quantity.value, spec.names_negative);
    let limits = vehicles.iter().map(|v| {
        let limits = match spec.entry(v).map(|e| &e.limits) {
            None => Plain::None,
            Some(Limits::Placeholder) => "TBD".into(),
            Some(Limits::Bands(bands)) => {
                rows(bands.iter().map(|b| (b.name.as_str(), phrase::set(&limit_set(&b.phrase, &domain)).into())))
            }
        };
        (base.vehicles.id(v), limits)
    });
    object!({
        "quantity": spec.quantity.value.name(),
        "at": spec.at.as_deref(),
        "when": spec.when.as_deref(),
        "worked out": spec.worked_out.as_ref().map(|w| {
            format!("{} of {} ({})", w.take.name(), w.of.name(), w.names.join(", "))
        }),
        "limits": rows(limits),
    })
}

/// Its hazards are told with the steps that meet them.
pub(super) fn setup(base: &Base, ix: SetupIx) -> Plain<'_> {
    let setup = &base.setups[ix];
    object!({
        "minutes": number(setup.minutes.as_ref()),
        "with": equipment(base, &setup.with),
        "hazards": hazard_ids(base, &setup.hazards),
        "away from": hazard_ids(base, &setup.away_from),
        "ends": sorted(setup.ends.iter().map(|s| base.setups.id(s.value)).collect()),
        "undo": setup.undo.is_some(),
    })
}

pub(super) fn hazard(base: &Base, ix: HazardIx) -> Plain<'_> {
    let hazard = &base.hazards[ix];
    object!({"signal": hazard.signal.name(), "text": hazard.text.as_str(), "never with": hazard_ids(base, &hazard.never_with)})
}

pub(super) fn repair(base: &Base, ix: RepairIx) -> Plain<'_> {
    let repair = &base.repairs[ix];
    let mut row = object!({
        "with": equipment(base, &repair.with),
        "minutes": number(repair.minutes.as_ref()),
        "hazards": hazard_ids(base, &repair.hazards),
        "undo": repair.undo.is_some(),
    });
    if let (Plain::Rows(row), Plain::Rows(after)) = (&mut row, after(base, None, &repair.after)) {
        row.extend(after);
    }
    row
}
