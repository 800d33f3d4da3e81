//! Places and words that several rules need.
//!
//! In: a unit or spans. Out: the first line of a file, a list in words, which vehicles come to a step.

use crate::check::Unit;
use crate::model::{Condition, Set, Step, StepIx, Vehicle, Way};
use crate::source::{FileId, Sources, Span};

/// The first line of a file that holds something.
pub fn first_line(sources: &Sources, file: FileId) -> Span {
    let text = sources.file(file).text();
    let start = text.len() - text.trim_start_matches('\u{feff}').trim_start().len();
    let line = text[start..].lines().next().unwrap_or("").trim_end();
    Span::new(file, start, start + line.len())
}

/// A place within the step: the wanted one if it stands in the procedure's file, else the step's key.
pub fn within(step: &Step, wanted: Span) -> Span {
    if wanted.file == step.place.key.file { wanted } else { step.place.key }
}

/// "`a`, `b` and `c`".
pub fn list<T: AsRef<str>>(names: &[T]) -> String {
    let quoted: Vec<String> = names.iter().map(|n| format!("`{}`", n.as_ref())).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// "1 trip", "2 trips".
pub fn count(number: u32, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

/// The vehicles that arrows lead to a step, by index of the step.
pub fn vehicles_at(unit: &Unit<'_>) -> Vec<Set<Vehicle>> {
    let steps = &unit.procedure.steps;
    let mut at: Vec<Set<Vehicle>> = vec![Set::new(); steps.len()];
    let mut open: Vec<StepIx> = unit.procedure.start().into_iter().collect();
    if let Some(first) = at.first_mut() {
        first.clone_from(&unit.procedure.applies);
    }
    while let Some(ix) = open.pop() {
        let here = at[ix.raw()].clone();
        let step = &steps[ix];
        let results = step.results.iter().map(|r| (&r.way, &r.condition));
        for (way, condition) in results.chain(step.without.iter().map(|w| (&w.way, &Condition::Done))) {
            let Way::Then(next) = way else { continue };
            let goes = match condition {
                Condition::Vehicles(only) => here.and(only),
                _ => here.clone(),
            };
            if !goes.is_subset(&at[next.raw()]) {
                at[next.raw()] = at[next.raw()].or(&goes);
                open.push(*next);
            }
        }
    }
    at
}
