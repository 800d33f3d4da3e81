//! When a result is taken, without its spelling.
//!
//! In: a result of a step. Out: a plain value: `below 5 V`, `less than 5000 mV` and `under 5 V` give the same.

use super::super::procedure::Procedure;
use super::super::step::{Condition, Measure, Outcome, Step};
use super::super::tables::Base;
use super::plain::Plain;
use super::vehicles;
use crate::quantity::{Domain, Phrase, ReadingSet, limit_set};

/// The condition of a result.
pub fn condition<'a>(base: &'a Base, procedure: &Procedure, step: &Step, outcome: &'a Outcome) -> Plain<'a> {
    match &outcome.condition {
        Condition::Reading(phrase) => {
            canonical(phrase, step.measure().map(|m| domain(base, procedure, step, m))).into()
        }
        Condition::Label(label) => label.as_str().into(),
        Condition::Vehicles(set) => vehicles(base, &set.and(&procedure.applies)).into(),
        Condition::Done | Condition::Unknown => Plain::None,
    }
}

/// Spec names stay names (their limits are told with the spec); amounts become one set of readings.
fn canonical(phrase: &Phrase, domain: Option<Domain>) -> String {
    let is_amount = |part: &&Phrase| matches!(part, Phrase::Range { .. } | Phrase::OpenCircuit);
    let (amounts, names): (Vec<&Phrase>, Vec<&Phrase>) = phrase.parts().iter().partition(is_amount);
    let mut parts: Vec<String> = names.into_iter().map(name).collect();
    parts.sort();
    parts.dedup();
    if let (false, Some(domain)) = (amounts.is_empty(), domain) {
        parts.push(set(&limit_set(&Phrase::Or(amounts.into_iter().cloned().collect()), &domain)));
    }
    parts.join(" or ")
}

fn name(phrase: &Phrase) -> String {
    match phrase {
        Phrase::InSpec => "in spec".into(),
        Phrase::BelowSpec => "below spec".into(),
        Phrase::AboveSpec => "above spec".into(),
        Phrase::OutOfSpec => "out of spec".into(),
        Phrase::Band(name) => name.clone(),
        Phrase::AnyOther => "any other reading".into(),
        Phrase::OpenCircuit | Phrase::Range { .. } | Phrase::Or(_) => String::new(),
    }
}

/// A set of readings by its ends in base units.
pub(super) fn set(set: &ReadingSet) -> String {
    let ends: Vec<String> = set.spans().iter().map(|s| format!("{:?}..{:?}", s.from(), s.to())).collect();
    format!("{}{}", ends.join(" "), if set.open_circuit { " or open circuit" } else { "" })
}

/// The possible readings at a step: below zero only where the spec or a step of the same key names a negative amount.
pub fn domain(base: &Base, procedure: &Procedure, step: &Step, measure: &Measure) -> Domain {
    let by_spec = measure.spec.is_some_and(|s| base.specs[s.value].names_negative);
    let by_step = || {
        let same = procedure.steps.iter().filter(|(_, _, s)| s.key == step.key);
        let phrases = same.flat_map(|(_, _, s)| {
            s.results.iter().filter_map(|r| match &r.condition {
                Condition::Reading(phrase) => Some(phrase),
                _ => None,
            })
        });
        phrases.into_iter().any(Phrase::names_negative)
    };
    Domain::new(measure.quantity, by_spec || by_step())
}
