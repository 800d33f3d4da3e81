//! Which facts a later step still reads: the others are forgotten, which keeps the states few.
//!
//! In: a procedure and one class. Out: per step, the keys that are live when it is entered (liveness as a compiler
//! works it out for registers: backwards over the arrows to a fixed point).

use super::classes::{Class, Meets, Memory};
use crate::model::{FactKey, Kind, Procedure, Step, Way};
use crate::quantity::CellSet;

/// Per step, the keys that matter when the step is entered.
pub fn live(procedure: &Procedure, class: &Class) -> Vec<CellSet> {
    let count = procedure.steps.len();
    let mut live = vec![CellSet::empty(); count];
    let mut changed = true;
    while changed {
        changed = false;
        // Backwards in file order: arrows mostly lead down, so that two or three rounds do.
        for at in (0..count).rev() {
            let step = &procedure.steps[crate::model::Ix::new(at)];
            let mut after = CellSet::empty();
            for to in next(step) {
                after = after.union(&live[to]);
            }
            let mut before = after.minus(&class.forgets[at]);
            if let Some(to) = step.without.as_ref().and_then(|w| target(&w.way)) {
                before = before.union(&live[to]);
            }
            if let Meets::Test { key, .. } = &class.meets[at] {
                before.insert(*key);
            }
            if before != live[at] {
                live[at] = before;
                changed = true;
            }
        }
    }
    live
}

fn next(step: &Step) -> impl Iterator<Item = usize> + '_ {
    step.results.iter().filter_map(|r| target(&r.way))
}

/// The step that a way leads to.
pub fn target(way: &Way) -> Option<usize> {
    match way {
        Way::Then(to) => Some(to.raw()),
        _ => None,
    }
}

/// Whether what `changes` names is this key. The labels of a check are one reading, whichever of them a step lists.
fn covers(named: &FactKey, key: &FactKey) -> bool {
    match (named, key) {
        (FactKey::Labels(one, _), FactKey::Labels(other, _)) => one == other,
        _ => named == key,
    }
}

/// The keys that a step forgets once it is done.
pub fn forgets(step: &Step, class: &Class) -> CellSet {
    let is_do = matches!(step.kind, Kind::Do(_));
    let of_labels = |memory: &Memory| is_do && matches!(memory, Memory::Labels(_));
    class
        .keys
        .iter()
        .enumerate()
        .filter(|(_, (key, memory))| {
            step.changes.all || of_labels(memory) || step.changes.keys.iter().any(|k| covers(&k.value, key))
        })
        .map(|(at, _)| at)
        .collect()
}
