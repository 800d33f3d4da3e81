//! What a procedure means, as one plain value: two procedures that mean the same give the same value.
//!
//! In: a procedure and the tables. Out: [`meaning`], an ordered JSON value that `compare` walks; [`digest`], the short
//! mark that a review carries; [`shared`], the same of what procedures share. Left out: titles, instructions, notes and the texts of
//! endings (words, not meaning), cases, findings and derived minutes. The order in a file means nothing, but for the first step.

/// `json!` for an object, but its values move into it: `json!` copies each of them, at every level of a nest.
macro_rules! object {
    ({ $($key:literal: $value:expr),* $(,)? }) => {
        serde_json::Value::Object([$(($key.to_owned(), serde_json::Value::from($value))),*].into_iter().collect())
    };
}

mod phrase;
mod shared;
mod shares;

pub use phrase::{condition, domain};
pub use shared::shared;
pub use shares::in_proportion;

use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use super::procedure::{AfterRepair, Cause, CauseIx, Confirm, Fix, Procedure};
use super::step::{FactKey, Kind, Outcome, Step, Way};
use super::tables::{Base, HazardIx, Vehicle};
use super::{Set, Table};
use crate::quantity::Rational;
use crate::quantity::number::exact;
use crate::source::Spanned;

/// The first six hexadecimal digits of the SHA-256 of the meaning.
pub fn digest(base: &Base, procedure: &Procedure) -> String {
    let text = serde_json::to_vec(&meaning(base, procedure)).unwrap_or_default();
    let hash = Sha256::digest(text);
    format!("{:02x}{:02x}{:02x}", hash[0], hash[1], hash[2])
}

/// The meaning of a procedure with the specs, checks, repairs, setups and hazards it uses.
pub fn meaning(base: &Base, procedure: &Procedure) -> Value {
    let mut specs: Set<super::Spec> = Set::new();
    let mut setups: Set<super::Setup> = Set::new();
    let mut hazards: Set<super::Hazard> = procedure.hazards.iter().map(|h| h.value).collect();
    for (_, _, step) in procedure.steps.iter() {
        if let Some(spec) = step.measure().and_then(|m| m.spec) {
            specs.insert(spec.value);
        }
        setups = setups.or(&step.shared.setup.iter().map(|s| s.value).collect());
        hazards = hazards.or(&base.hazards_met(procedure, step).iter().map(|t| t.hazard).collect());
    }
    for (_, _, cause) in procedure.causes.iter() {
        if let Some(Spanned { value: Fix::Repair(repair), .. }) = &cause.fix {
            hazards = hazards.or(&base.repairs[*repair].hazards.iter().map(|h| h.value).collect());
        }
    }
    let shares: Vec<_> = procedure.causes.iter().map(|(_, _, c)| c.share.as_ref().map(|s| &s.value)).collect();
    let causes = procedure.causes.iter().zip(in_proportion(&shares));
    object!({
        "vehicles": sorted(base.vehicle_ids(&procedure.applies)),
        "codes": sorted(procedure.codes.iter().map(|c| base.codes.id(c.value).to_owned()).collect()),
        "trips": procedure.codes.iter().map(|c| base.codes[c.value].trips).max(),
        "system": procedure.system.as_ref().map(|s| base.systems.id(s.value)),
        "start": procedure.steps.ids().next(),
        "causes": rows(causes.map(|((_, id, c), share)| (id.to_owned(), cause(base, procedure, c, share)))),
        "steps": rows(procedure.steps.iter().map(|(_, id, s)| (id.to_owned(), step(base, procedure, s)))),
        "after repair": after(base, Some(procedure), &procedure.after_repair),
        "specs": rows(specs.iter().map(|s| (base.specs.id(s).to_owned(), shared::spec(base, s, &procedure.applies)))),
        "setups": rows(setups.iter().map(|s| (base.setups.id(s).to_owned(), shared::setup(base, s)))),
        "hazards": rows(hazards.iter().map(|h| (base.hazards.id(h).to_owned(), shared::hazard(base, h)))),
        "repairs": rows(procedure.causes.iter().filter_map(|(_, _, c)| match &c.fix.as_ref()?.value {
            Fix::Heading(_) => None,
            Fix::Repair(repair) => Some((base.repairs.id(*repair).to_owned(), shared::repair(base, *repair))),
        })),
    })
}

/// Rows by name: their order in the file means nothing.
fn rows(rows: impl Iterator<Item = (String, Value)>) -> Value {
    let sorted: std::collections::BTreeMap<String, Value> = rows.collect();
    Value::Object(sorted.into_iter().collect())
}

fn sorted(mut list: Vec<String>) -> Vec<String> {
    list.sort();
    list.dedup();
    list
}

fn number(value: Option<&Rational>) -> Value {
    value.map_or(Value::Null, |v| json!(exact(v).unwrap_or_else(|| v.to_string())))
}

fn hazard_ids(base: &Base, list: &[Spanned<HazardIx>]) -> Vec<String> {
    sorted(list.iter().map(|h| base.hazards.id(h.value).to_owned()).collect())
}

/// Equipment: all of these, each `a` or `a or b`.
fn equipment(base: &Base, with: &[Spanned<Vec<super::EquipmentIx>>]) -> Vec<String> {
    let one = |w: &Spanned<Vec<super::EquipmentIx>>| {
        sorted(w.value.iter().map(|e| base.equipment.id(*e).to_owned()).collect()).join(" or ")
    };
    sorted(with.iter().map(one).collect())
}

fn vehicles(base: &Base, set: &Set<Vehicle>) -> Vec<String> {
    sorted(base.vehicle_ids(set))
}

fn cause(base: &Base, procedure: &Procedure, cause: &Cause, share: Value) -> Value {
    let fix = cause.fix.as_ref().map(|f| match &f.value {
        Fix::Heading(at) => object!({"here": procedure.sections[*at].id.as_ref().map(|i| i.value.clone())}),
        Fix::Repair(repair) => object!({"shared": base.repairs.id(*repair)}),
    });
    let part = cause.part.as_ref();
    object!({
        "share": share,
        "fix": fix,
        "vehicles": vehicles(base, &cause.on.and(&procedure.applies)),
        "part name": part.and_then(|p| p.name.clone()),
        "part number": part.and_then(|p| p.number.clone()),
        "part price": number(part.and_then(|p| p.price.as_ref())),
        "part minutes": number(part.and_then(|p| p.minutes.as_ref())),
    })
}

/// How a repair is confirmed; a shared one's steps are named, not resolved.
fn after(base: &Base, procedure: Option<&Procedure>, after: &AfterRepair) -> Value {
    let confirm = after.confirm.iter().map(|c| match c {
        Confirm::Step { step, result } => {
            let id = procedure.map_or("", |p| p.steps.id(step.value));
            let result = procedure.and_then(|p| p.steps[step.value].results.get(*result));
            format!("{id}: {}", result.map_or("", |r| r.text.value.as_str()))
        }
        Confirm::Check { check, result } => format!("check {}: {}", base.checks.id(check.value), result.value),
        Confirm::Named { step, result } => format!("{}: {}", step.value, result.value),
    });
    object!({
        "confirm": sorted(confirm.collect()),
        "clear codes": after.clear_codes,
        "trips": after.trips.as_ref().map(|t| t.value),
    })
}

fn step(base: &Base, procedure: &Procedure, step: &Step) -> Value {
    let ids =
        |list: &[Spanned<super::StepIx>]| sorted(list.iter().map(|s| procedure.steps.id(s.value).to_owned()).collect());
    let mut results: Vec<Value> = step.results.iter().map(|r| outcome(base, procedure, step, r)).collect();
    results.sort_by_cached_key(ToString::to_string);
    let met = base.hazards_met(procedure, step);
    object!({
        "kind": kind(base, &step.kind),
        "check": step.check.as_ref().map(|c| base.checks.id(c.value)),
        "results": results,
        "with": equipment(base, &step.shared.with),
        "without": step.without.as_ref().map(|w| way(base, procedure, &w.way)),
        "setup": sorted(step.shared.setup.iter().map(|s| base.setups.id(s.value).to_owned()).collect()),
        "minutes": number(step.shared.minutes.as_ref()),
        "wait": number(step.shared.wait.as_ref()),
        "hazards": sorted(met.iter().map(|t| base.hazards.id(t.hazard).to_owned()).collect()),
        "after": ids(&step.after),
        "changes": changes(base, procedure, step),
        "undo": step.shared.undo.is_some(),
        "undoes": ids(&step.undoes),
    })
}

fn kind(base: &Base, kind: &Kind) -> Value {
    match kind {
        Kind::Measure(m) => match m.spec {
            Some(spec) => object!({"measure": base.specs.id(spec.value)}),
            None => object!({
                "measure": object!({"quantity": m.quantity.name(), "at": m.at.clone(), "when": m.when.clone()}),
            }),
        },
        Kind::Observe(_) => json!("observe"),
        Kind::Do(_) => json!("do"),
        Kind::Which => json!("which"),
    }
}

/// One result of a step.
pub fn outcome(base: &Base, procedure: &Procedure, step: &Step, outcome: &Outcome) -> Value {
    let causes = |list: &[Spanned<CauseIx>]| cause_ids(&procedure.causes, list.iter().map(|c| c.value));
    object!({
        "if": condition(base, procedure, step, outcome),
        "clears": causes(&outcome.clears),
        "leaves": outcome.leaves.as_ref().map(|l| causes(l)),
        "way": way(base, procedure, &outcome.way),
    })
}

fn cause_ids(causes: &Table<Cause>, list: impl Iterator<Item = CauseIx>) -> Vec<String> {
    sorted(list.map(|c| causes.id(c).to_owned()).collect())
}

fn way(base: &Base, procedure: &Procedure, way: &Way) -> Value {
    match way {
        Way::Then(to) => object!({"then": procedure.steps.id(*to)}),
        Way::Jump(to) => object!({"jump": base.procedures.id(*to)}),
        Way::Shows(cause) => object!({"shows": procedure.causes.id(*cause)}),
        Way::Found(causes) => object!({"found": cause_ids(&procedure.causes, causes.iter().copied()).join(", ")}),
        Way::FoundLeft => object!({"found": "what is left"}),
        Way::Normal(_) | Way::Unproven(_) | Way::Refer(_) | Way::Unknown => json!({way.word(): ""}),
    }
}

fn changes(base: &Base, procedure: &Procedure, step: &Step) -> Vec<String> {
    if step.changes.all {
        return vec!["all".into()];
    }
    let keys = step.changes.keys.iter().map(|k| match &k.value {
        FactKey::Spec(spec) => base.specs.id(*spec).to_owned(),
        FactKey::Check(check) | FactKey::Labels(check, _) => base.checks.id(*check).to_owned(),
        FactKey::Step(at) => procedure.steps.id(*at).to_owned(),
    });
    sorted(keys.collect())
}
