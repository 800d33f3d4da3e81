//! Words that several rules use.
//!
//! In: ids, sets, units. Out: text for messages.

use super::rule::Unit;
use crate::finding::{Finding, Level, RuleName};
use crate::model::{Base, Cause, Condition, Limits, Procedure, Set, Step, StepIx, Vehicle};
use crate::quantity::{Quantity, Unit as Symbol};
use crate::source::{Sources, Span};

/// `a`, `b` and `c`, each between backticks.
pub fn list<T: AsRef<str>>(names: &[T]) -> String {
    let quoted: Vec<String> = names.iter().map(|n| format!("`{}`", n.as_ref())).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A finding about a step.
pub fn at_step(
    procedure: &Procedure,
    step: StepIx,
    rule: RuleName,
    level: Level,
    span: Span,
    message: impl Into<String>,
) -> Finding {
    Finding::new(rule, level, span, message).in_procedure(procedure.id.clone()).at_step(procedure.steps.id(step))
}

/// The ids of causes between backticks.
pub fn causes(procedure: &Procedure, set: &Set<Cause>) -> String {
    list(&procedure.cause_ids(set))
}

/// The ids of vehicles, none where the base names none.
pub fn vehicles(base: &Base, set: &Set<Vehicle>) -> Vec<String> {
    base.vehicle_ids(set).into_iter().filter(|v| !v.is_empty()).collect()
}

/// The ids of the vehicles of these classes.
pub fn of_classes(unit: &Unit<'_>, classes: impl IntoIterator<Item = usize>) -> Vec<String> {
    let all = &unit.analysis.classes;
    vehicles(unit.base, &classes.into_iter().fold(Set::new(), |set, class| set.or(&all[class].0.vehicles)))
}

/// The unit of a step's own results, else of its spec's limits, else the quantity's usual one.
pub fn unit(base: &Base, step: &Step, quantity: Quantity) -> Symbol {
    let own = step.results.iter().find_map(|r| match &r.condition {
        Condition::Reading(phrase) => phrase.ends().next().map(|e| e.amount.unit),
        _ => None,
    });
    let of_spec = || {
        let spec = step.measure()?.spec?;
        base.specs[spec.value].entries.iter().find_map(|e| match &e.limits {
            Limits::Bands(bands) => bands.iter().find_map(|b| b.phrase.ends().next().map(|e| e.amount.unit)),
            Limits::Placeholder => None,
        })
    };
    own.or_else(of_spec).unwrap_or_else(|| Symbol::default_of(quantity))
}

/// "a step" or "2 steps".
pub fn count(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

/// A list item as a whole: from its dash (or the comma before it) to where the next item may begin, so that taking it
/// out leaves a list.
pub fn whole_item(sources: &Sources, item: Span) -> Span {
    let text = sources.file(item.file).text();
    let before = &text[..item.start as usize];
    let line = before.rfind('\n').map_or(0, |i| i + 1);
    if before[line..].trim_start().starts_with('-') && before[line..].trim().len() == 1 {
        let end = text[item.end as usize..].find('\n').map_or(text.len(), |i| item.end as usize + i + 1);
        return Span::new(item.file, line, end);
    }
    item
}
