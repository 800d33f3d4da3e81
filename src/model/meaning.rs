//! What a procedure means, as one plain value: two procedures that mean the same give the same value.
//!
//! In: a procedure and the tables. Out: [`meaning`], an ordered JSON value that `compare` walks, and [`digest`], the short
//! mark that a review carries. Left out: titles, instructions, notes and the texts of endings (words, not meaning), cases and findings.

use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use super::procedure::{AfterRepair, Cause, CauseIx, Confirm, Fix, Procedure};
use super::step::{Condition, FactKey, Kind, Outcome, Step, Way};
use super::tables::{Base, HazardIx, Limits, SetupIx, SpecIx};
use super::{Set, Table};
use crate::quantity::{Phrase, Rational, ReadingSet};
use crate::source::Spanned;

/// The first six hexadecimal digits of the SHA-256 of the meaning.
pub fn digest(base: &Base, procedure: &Procedure) -> String {
    let hash = Sha256::digest(meaning(base, procedure).to_string().as_bytes());
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
        hazards = hazards.or(&step.shared.hazards.iter().map(|h| h.value).collect());
        for instrument in step.all_equipment().iter() {
            hazards = hazards.or(&base.equipment[instrument].hazards.iter().map(|h| h.value).collect());
        }
    }
    for setup in setups.iter() {
        hazards = hazards.or(&base.setups[setup].hazards.iter().map(|h| h.value).collect());
    }
    let system = procedure.system.as_ref().map(|s| s.value);
    if let Some(system) = system {
        hazards = hazards.or(&base.systems[system].hazards.iter().map(|h| h.value).collect());
    }
    json!({
        "vehicles": sorted(base.vehicle_ids(&procedure.applies)),
        "codes": sorted(procedure.codes.iter().map(|c| base.codes.id(c.value).to_owned()).collect()),
        "trips": procedure.codes.iter().map(|c| base.codes[c.value].trips).max(),
        "system": system.map(|s| base.systems.id(s)),
        "hazards": hazard_ids(base, &procedure.hazards),
        "causes": rows(procedure.causes.iter().map(|(_, id, c)| (id.to_owned(), cause(base, procedure, c)))),
        "start": procedure.steps.ids().next(),
        "steps": rows(procedure.steps.iter().map(|(_, id, s)| (id.to_owned(), step(base, procedure, s)))),
        "after repair": after(base, procedure, &procedure.after_repair),
        "specs": rows(specs.iter().map(|s| (base.specs.id(s).to_owned(), spec(base, s, procedure)))),
        "setups": rows(setups.iter().map(|s| (base.setups.id(s).to_owned(), setup(base, s)))),
        "hazard texts": rows(hazards.iter().map(|h| (base.hazards.id(h).to_owned(), hazard(base, h)))),
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
    value.map_or(Value::Null, |v| json!(v.to_string()))
}

fn hazard_ids(base: &Base, list: &[Spanned<HazardIx>]) -> Vec<String> {
    sorted(list.iter().map(|h| base.hazards.id(h.value).to_owned()).collect())
}

fn cause(base: &Base, procedure: &Procedure, cause: &Cause) -> Value {
    let fix = cause.fix.as_ref().map(|f| match &f.value {
        Fix::Heading(at) => json!({"here": procedure.sections[*at].id.as_ref().map(|i| i.value.clone())}),
        Fix::Repair(repair) => {
            let row = &base.repairs[*repair];
            json!({
                "shared": base.repairs.id(*repair),
                "minutes": number(row.minutes.as_ref()),
                "hazards": hazard_ids(base, &row.hazards),
                "after": after(base, procedure, &row.after),
            })
        }
    });
    json!({
        "share": number(cause.share.as_ref().map(|s| &s.value)),
        "fix": fix,
        "vehicles": sorted(base.vehicle_ids(&cause.on)),
        "part": cause.part.as_ref().map(|p| json!({"price": number(p.price.as_ref()), "minutes": number(p.minutes.as_ref())})),
    })
}

fn after(base: &Base, procedure: &Procedure, after: &AfterRepair) -> Value {
    let confirm: Vec<Value> = after
        .confirm
        .iter()
        .map(|c| match c {
            Confirm::Step { step, result } => {
                let text = procedure.steps[step.value].results.get(*result).map(|r| r.text.value.clone());
                json!({"step": procedure.steps.id(step.value), "if": text})
            }
            Confirm::Check { check, result } => json!({"check": base.checks.id(check.value), "if": result.value}),
            Confirm::Named { step, result } => json!({"step": step.value, "if": result.value}),
        })
        .collect();
    json!({"confirm": confirm, "clear codes": after.clear_codes, "trips": after.trips.as_ref().map(|t| t.value)})
}

fn step(base: &Base, procedure: &Procedure, step: &Step) -> Value {
    let ids =
        |list: &[Spanned<super::StepIx>]| sorted(list.iter().map(|s| procedure.steps.id(s.value).to_owned()).collect());
    let with: Vec<Vec<&str>> =
        step.shared.with.iter().map(|w| w.value.iter().map(|e| base.equipment.id(*e)).collect()).collect();
    json!({
        "kind": kind(base, &step.kind),
        "check": step.check.as_ref().map(|c| base.checks.id(c.value)),
        "results": step.results.iter().map(|r| outcome(base, procedure, r)).collect::<Vec<_>>(),
        "with": with,
        "without": step.without.as_ref().map(|w| way(base, procedure, &w.way)),
        "setup": sorted(step.shared.setup.iter().map(|s| base.setups.id(s.value).to_owned()).collect()),
        "minutes": number(step.shared.minutes.as_ref()),
        "wait": number(step.shared.wait.as_ref()),
        "hazards": hazard_ids(base, &step.shared.hazards),
        "away from": hazard_ids(base, &step.shared.away_from),
        "after": ids(&step.after),
        "changes": changes(base, procedure, step),
        "undo": step.shared.undo.is_some(),
        "undoes": ids(&step.undoes),
    })
}

fn kind(base: &Base, kind: &Kind) -> Value {
    match kind {
        Kind::Measure(m) => match m.spec {
            Some(spec) => json!({"measure": base.specs.id(spec.value)}),
            None => json!({"measure": {"quantity": m.quantity.name(), "at": m.at, "when": m.when}}),
        },
        Kind::Observe(_) => json!("observe"),
        Kind::Do(_) => json!("do"),
        Kind::Which => json!("which"),
    }
}

fn outcome(base: &Base, procedure: &Procedure, outcome: &Outcome) -> Value {
    let condition = match &outcome.condition {
        Condition::Reading(phrase) => json!(canonical(phrase)),
        Condition::Label(label) => json!(label),
        Condition::Vehicles(set) => json!(sorted(base.vehicle_ids(&set.and(&procedure.applies)))),
        Condition::Done | Condition::Unknown => Value::Null,
    };
    let causes = |list: &[Spanned<CauseIx>]| cause_ids(&procedure.causes, list.iter().map(|c| c.value));
    json!({
        "if": condition,
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
        Way::Then(to) => json!({"then": procedure.steps.id(*to)}),
        Way::Jump(to) => json!({"jump": base.procedures.id(*to)}),
        Way::Shows(cause) => json!({"shows": procedure.causes.id(*cause)}),
        Way::Found(causes) => json!({"found": cause_ids(&procedure.causes, causes.iter().copied())}),
        Way::FoundLeft => json!({"found": "what is left"}),
        Way::Normal(_) | Way::Unproven(_) | Way::Refer(_) | Way::Unknown => json!(way.word()),
    }
}

fn changes(base: &Base, procedure: &Procedure, step: &Step) -> Value {
    if step.changes.all {
        return json!("all");
    }
    let keys = step.changes.keys.iter().map(|k| match &k.value {
        FactKey::Spec(spec) => base.specs.id(*spec).to_owned(),
        FactKey::Check(check) | FactKey::Labels(check, _) => base.checks.id(*check).to_owned(),
        FactKey::Step(at) => procedure.steps.id(*at).to_owned(),
    });
    json!(sorted(keys.collect()))
}

/// A phrase without its spelling: amounts in base units.
fn canonical(phrase: &Phrase) -> String {
    match phrase {
        Phrase::InSpec => "in spec".into(),
        Phrase::BelowSpec => "below spec".into(),
        Phrase::AboveSpec => "above spec".into(),
        Phrase::OutOfSpec => "out of spec".into(),
        Phrase::Band(name) => name.clone(),
        Phrase::OpenCircuit => "open circuit".into(),
        Phrase::AnyOther => "any other reading".into(),
        Phrase::Range { low, high } => {
            let end = |end: &Option<crate::quantity::End>| {
                end.as_ref()
                    .map_or_else(String::new, |e| format!("{}{}", e.amount.value, if e.included { "=" } else { "" }))
            };
            format!("{}..{}", end(low), end(high))
        }
        Phrase::Or(parts) => {
            let mut parts: Vec<String> = parts.iter().map(canonical).collect();
            parts.sort();
            parts.join(" or ")
        }
    }
}

/// Limits per vehicle of the procedure, each as the set it holds.
fn spec(base: &Base, ix: SpecIx, procedure: &Procedure) -> Value {
    let spec = &base.specs[ix];
    let vehicles = procedure.applies.iter().map(|v| {
        let limits = match spec.entry(v).map(|e| &e.limits) {
            None => Value::Null,
            Some(Limits::Placeholder) => json!("TBD"),
            Some(Limits::Bands(bands)) => rows(bands.iter().map(|b| (b.name.clone(), json!(set(&b.set))))),
        };
        (base.vehicles.id(v).to_owned(), limits)
    });
    json!({
        "quantity": spec.quantity.value.name(),
        "at": spec.at,
        "when": spec.when,
        "worked out": spec.worked_out.as_ref().map(|w| json!([w.of.name(), w.names, w.take.name()])),
        "limits": rows(vehicles),
    })
}

/// A set of readings by its ends in base units.
fn set(set: &ReadingSet) -> String {
    let ends: Vec<String> = set.spans().iter().map(|s| format!("{:?}..{:?}", s.from(), s.to())).collect();
    format!("{}{}", ends.join(" "), if set.open_circuit { " or open circuit" } else { "" })
}

fn setup(base: &Base, ix: SetupIx) -> Value {
    let setup = &base.setups[ix];
    json!({
        "minutes": number(setup.minutes.as_ref()),
        "hazards": hazard_ids(base, &setup.hazards),
        "away from": hazard_ids(base, &setup.away_from),
        "ends": sorted(setup.ends.iter().map(|s| base.setups.id(s.value).to_owned()).collect()),
        "undo": setup.undo.is_some(),
    })
}

fn hazard(base: &Base, ix: HazardIx) -> Value {
    let hazard = &base.hazards[ix];
    json!({"signal": hazard.signal.name(), "text": hazard.text, "never with": hazard_ids(base, &hazard.never_with)})
}
