//! What procedures share: specs, setups, hazards, repairs, equipment, vehicles, the shop.
//!
//! In: the tables. Out: a plain value for each row; [`shared`], all of them.

use serde_json::{Value, json};

use super::super::procedure::RepairIx;
use super::super::tables::{Base, HazardIx, InstrumentRange, Limits, SetupIx, SpecIx, Vehicle};
use super::super::{Set, Table};
use super::{after, equipment, hazard_ids, number, phrase, rows, sorted};
use crate::quantity::{Domain, limit_set};

/// Everything that procedures share, for all vehicles.
pub fn shared(base: &Base) -> Value {
    let all: Set<Vehicle> = base.vehicles.indexes().collect();
    let vehicles = base.vehicles.ids().filter(|id| !id.is_empty());
    object!({
        "vehicles": rows(vehicles.map(|id| (id.to_owned(), Value::Null))),
        "specs": table(&base.specs, |s| spec(base, s, &all)),
        "setups": table(&base.setups, |s| setup(base, s)),
        "hazards": table(&base.hazards, |h| hazard(base, h)),
        "repairs": table(&base.repairs, |r| repair(base, r)),
        "equipment": table(&base.equipment, |e| {
            let row = &base.equipment[e];
            object!({
                "measures": rows(row.measures.iter().map(|m| (m.quantity.value.name().to_owned(), measures(m)))),
                "hazards": hazard_ids(base, &row.hazards),
            })
        }),
        "codes": table(&base.codes, |c| object!({"trips": base.codes[c].trips})),
        "bays": table(&base.shop.bays, |b| {
            object!({"has": sorted(base.shop.bays[b].has.iter().map(|e| base.equipment.id(e).to_owned()).collect())})
        }),
        "shop": object!({"shop": object!({
            "labour rate": number(base.shop.labour_rate.as_ref()),
            "currency": base.shop.currency.clone(),
            "default minutes": number(base.shop.default_minutes.as_ref()),
        })}),
    })
}

fn table<T>(table: &Table<T>, row: impl Fn(super::super::Ix<T>) -> Value) -> Value {
    rows(table.iter().map(|(ix, id, _)| (id.to_owned(), row(ix))))
}

fn measures(range: &InstrumentRange) -> Value {
    object!({
        "range": range.range.as_ref().map(|r| phrase::set(&r.set)),
        "resolution": range.resolution.as_ref().map(|r| r.value.to_string()),
        "accuracy": range.accuracy.as_ref().map(|a| format!("{:?}", a.value)),
    })
}

/// Limits per vehicle, each as the set it holds.
pub(super) fn spec(base: &Base, ix: SpecIx, vehicles: &Set<Vehicle>) -> Value {
    let spec = &base.specs[ix];
    let domain = Domain::new(spec.quantity.value, spec.names_negative);
    let limits = vehicles.iter().map(|v| {
        let limits = match spec.entry(v).map(|e| &e.limits) {
            None => Value::Null,
            Some(Limits::Placeholder) => json!("TBD"),
            Some(Limits::Bands(bands)) => {
                rows(bands.iter().map(|b| (b.name.clone(), json!(phrase::set(&limit_set(&b.phrase, &domain))))))
            }
        };
        (base.vehicles.id(v).to_owned(), limits)
    });
    object!({
        "quantity": spec.quantity.value.name(),
        "at": spec.at.clone(),
        "when": spec.when.clone(),
        "worked out": spec.worked_out.as_ref().map(|w| {
            format!("{} of {} ({})", w.take.name(), w.of.name(), w.names.join(", "))
        }),
        "limits": rows(limits),
    })
}

/// Its hazards are told with the steps that meet them.
pub(super) fn setup(base: &Base, ix: SetupIx) -> Value {
    let setup = &base.setups[ix];
    object!({
        "minutes": number(setup.minutes.as_ref()),
        "with": equipment(base, &setup.with),
        "hazards": hazard_ids(base, &setup.hazards),
        "away from": hazard_ids(base, &setup.away_from),
        "ends": sorted(setup.ends.iter().map(|s| base.setups.id(s.value).to_owned()).collect()),
        "undo": setup.undo.is_some(),
    })
}

pub(super) fn hazard(base: &Base, ix: HazardIx) -> Value {
    let hazard = &base.hazards[ix];
    object!({"signal": hazard.signal.name(), "text": hazard.text.clone(), "never with": hazard_ids(base, &hazard.never_with)})
}

pub(super) fn repair(base: &Base, ix: RepairIx) -> Value {
    let repair = &base.repairs[ix];
    let mut row = object!({
        "with": equipment(base, &repair.with),
        "minutes": number(repair.minutes.as_ref()),
        "hazards": hazard_ids(base, &repair.hazards),
        "undo": repair.undo.is_some(),
    });
    if let (Value::Object(row), Value::Object(after)) = (&mut row, after(base, None, &repair.after)) {
        row.extend(after);
    }
    row
}
