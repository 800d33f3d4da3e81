//! What a procedure means, as one plain value: two procedures that mean the same give the same value.
//!
//! In: a procedure and the tables. Out: [`meaning`], an ordered JSON value that `compare` walks; [`digest`], the short
//! mark that a review carries; [`shared`], the same of what procedures share. Left out: titles, instructions, notes and the texts of
//! endings (words, not meaning), cases, findings and derived minutes. The order in a file means nothing, but for the first step.

mod phrase;
mod plain;
mod shared;
mod shares;

pub use phrase::domain;
pub use shares::in_proportion;

use serde_json::Value;
use sha2::{Digest as _, Sha256};

use super::procedure::{AfterRepair, Cause, CauseIx, Confirm, Fix, Procedure};
use super::step::{FactKey, Kind, Outcome, Step, Way};
use super::tables::{Base, HazardIx, Vehicle};
use super::{Set, Table};
use crate::quantity::Rational;
use crate::quantity::number::exact;
use crate::source::Spanned;
use phrase::condition;
use plain::{Plain, object, rows};

/// The first six hexadecimal digits of the SHA-256 of the meaning.
pub fn digest(base: &Base, procedure: &Procedure) -> String {
    let text = serde_json::to_vec(&whole(base, procedure)).unwrap_or_default();
    let hash = Sha256::digest(text);
    format!("{:02x}{:02x}{:02x}", hash[0], hash[1], hash[2])
}

/// The meaning of a procedure with the specs, checks, repairs, setups and hazards it uses.
pub fn meaning(base: &Base, procedure: &Procedure) -> Value {
    whole(base, procedure).to_json()
}

/// One result of a step.
pub fn outcome(base: &Base, procedure: &Procedure, step: &Step, outcome: &Outcome) -> Value {
    result(base, procedure, step, outcome).to_json()
}

/// Everything that procedures share, for all vehicles.
pub fn shared(base: &Base) -> Value {
    shared::shared(base).to_json()
}

fn whole<'a>(base: &'a Base, procedure: &'a Procedure) -> Plain<'a> {
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
        "vehicles": vehicles(base, &procedure.applies),
        "codes": sorted(procedure.codes.iter().map(|c| base.codes.id(c.value)).collect()),
        "trips": procedure.codes.iter().map(|c| base.codes[c.value].trips).max(),
        "system": procedure.system.as_ref().map(|s| base.systems.id(s.value)),
        "start": procedure.steps.ids().next(),
        "causes": rows(causes.map(|((_, id, c), share)| (id, cause(base, procedure, c, share)))),
        "steps": rows(procedure.steps.iter().map(|(_, id, s)| (id, step(base, procedure, s)))),
        "after repair": after(base, Some(procedure), &procedure.after_repair),
        "specs": rows(specs.iter().map(|s| (base.specs.id(s), shared::spec(base, s, &procedure.applies)))),
        "setups": rows(setups.iter().map(|s| (base.setups.id(s), shared::setup(base, s)))),
        "hazards": rows(hazards.iter().map(|h| (base.hazards.id(h), shared::hazard(base, h)))),
        "repairs": rows(procedure.causes.iter().filter_map(|(_, _, c)| match &c.fix.as_ref()?.value {
            Fix::Heading(_) => None,
            Fix::Repair(repair) => Some((base.repairs.id(*repair), shared::repair(base, *repair))),
        })),
    })
}

fn sorted<T: Ord>(mut list: Vec<T>) -> Vec<T> {
    list.sort();
    list.dedup();
    list
}

fn number(value: Option<&Rational>) -> Plain<'static> {
    value.map(|v| exact(v).unwrap_or_else(|| v.to_string())).into()
}

fn hazard_ids<'a>(base: &'a Base, list: &[Spanned<HazardIx>]) -> Vec<&'a str> {
    sorted(list.iter().map(|h| base.hazards.id(h.value)).collect())
}

/// Equipment: all of these, each `a` or `a or b`.
fn equipment(base: &Base, with: &[Spanned<Vec<super::EquipmentIx>>]) -> Vec<String> {
    let one = |w: &Spanned<Vec<super::EquipmentIx>>| {
        sorted(w.value.iter().map(|e| base.equipment.id(*e)).collect()).join(" or ")
    };
    sorted(with.iter().map(one).collect())
}

fn vehicles<'a>(base: &'a Base, set: &Set<Vehicle>) -> Vec<&'a str> {
    sorted(set.iter().map(|v| base.vehicles.id(v)).collect())
}

fn cause<'a>(base: &'a Base, procedure: &'a Procedure, cause: &'a Cause, share: Option<String>) -> Plain<'a> {
    let fix = cause.fix.as_ref().map(|f| match &f.value {
        Fix::Heading(at) => object!({"here": procedure.sections[*at].id.as_ref().map(|i| i.value.as_str())}),
        Fix::Repair(repair) => object!({"shared": base.repairs.id(*repair)}),
    });
    let part = cause.part.as_ref();
    object!({
        "share": share,
        "fix": fix,
        "vehicles": vehicles(base, &cause.on.and(&procedure.applies)),
        "part name": part.and_then(|p| p.name.as_deref()),
        "part number": part.and_then(|p| p.number.as_deref()),
        "part price": number(part.and_then(|p| p.price.as_ref())),
        "part minutes": number(part.and_then(|p| p.minutes.as_ref())),
    })
}

/// How a repair is confirmed; a shared one's steps are named, not resolved.
fn after(base: &Base, procedure: Option<&Procedure>, after: &AfterRepair) -> Plain<'static> {
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

fn step<'a>(base: &'a Base, procedure: &'a Procedure, step: &'a Step) -> Plain<'a> {
    let ids = |list: &[Spanned<super::StepIx>]| sorted(list.iter().map(|s| procedure.steps.id(s.value)).collect());
    let mut results: Vec<Plain> = step.results.iter().map(|r| result(base, procedure, step, r)).collect();
    results.sort_by_cached_key(|result| serde_json::to_string(result).unwrap_or_default());
    let met = base.hazards_met(procedure, step);
    object!({
        "kind": kind(base, &step.kind),
        "check": step.check.as_ref().map(|c| base.checks.id(c.value)),
        "results": results,
        "with": equipment(base, &step.shared.with),
        "without": step.without.as_ref().map(|w| way(base, procedure, &w.way)),
        "setup": sorted(step.shared.setup.iter().map(|s| base.setups.id(s.value)).collect()),
        "minutes": number(step.shared.minutes.as_ref()),
        "wait": number(step.shared.wait.as_ref()),
        "hazards": sorted(met.iter().map(|t| base.hazards.id(t.hazard)).collect()),
        "after": ids(&step.after),
        "changes": changes(base, procedure, step),
        "undo": step.shared.undo.is_some(),
        "undoes": ids(&step.undoes),
    })
}

fn kind<'a>(base: &'a Base, kind: &'a Kind) -> Plain<'a> {
    match kind {
        Kind::Measure(m) => match m.spec {
            Some(spec) => object!({"measure": base.specs.id(spec.value)}),
            None => object!({
                "measure": object!({"quantity": m.quantity.name(), "at": m.at.as_deref(), "when": m.when.as_deref()}),
            }),
        },
        Kind::Observe(_) => "observe".into(),
        Kind::Do(_) => "do".into(),
        Kind::Which => "which".into(),
    }
}

fn result<'a>(base: &'a Base, procedure: &'a Procedure, step: &'a Step, outcome: &'a Outcome) -> Plain<'a> {
    let causes = |list: &[Spanned<CauseIx>]| cause_ids(&procedure.causes, list.iter().map(|c| c.value));
    object!({
        "if": condition(base, procedure, step, outcome),
        "clears": causes(&outcome.clears),
        "leaves": outcome.leaves.as_ref().map(|l| causes(l)),
        "way": way(base, procedure, &outcome.way),
    })
}

fn cause_ids(causes: &Table<Cause>, list: impl Iterator<Item = CauseIx>) -> Vec<&str> {
    sorted(list.map(|c| causes.id(c)).collect())
}

fn way<'a>(base: &'a Base, procedure: &'a Procedure, way: &Way) -> Plain<'a> {
    match way {
        Way::Then(to) => object!({"then": procedure.steps.id(*to)}),
        Way::Jump(to) => object!({"jump": base.procedures.id(*to)}),
        Way::Shows(cause) => object!({"shows": procedure.causes.id(*cause)}),
        Way::Found(causes) => object!({"found": cause_ids(&procedure.causes, causes.iter().copied()).join(", ")}),
        Way::FoundLeft => object!({"found": "what is left"}),
        Way::Normal(_) | Way::Unproven(_) | Way::Refer(_) | Way::Unknown => {
            Plain::Rows(vec![(way.word().into(), "".into())])
        }
    }
}

fn changes<'a>(base: &'a Base, procedure: &'a Procedure, step: &Step) -> Vec<&'a str> {
    if step.changes.all {
        return vec!["all"];
    }
    let keys = step.changes.keys.iter().map(|k| match &k.value {
        FactKey::Spec(spec) => base.specs.id(*spec),
        FactKey::Check(check) | FactKey::Labels(check, _) => base.checks.id(*check),
        FactKey::Step(at) => procedure.steps.id(*at),
    });
    sorted(keys.collect())
}
