//! The exploration of one class: exact up to a limit, joined past it.
//!
//! In: a procedure, one class, a limit. Out: [`Paths`].

use indexmap::IndexSet;
use rustc_hash::FxBuildHasher;

use super::classes::Class;
use super::code::{Code, Words, step_of};
use super::paths::{END, Kept, Paths};
use crate::model::{Procedure, StepIx};

/// Per step, the union of all facts and causes that can reach it.
#[derive(Debug)]
pub struct Joined {
    states: Vec<Option<Words>>,
}

impl Joined {
    /// The joined state of a step, where one may enter it.
    pub fn state(&self, step: StepIx) -> Option<&Words> {
        self.states[step.raw()].as_ref()
    }
}

/// Explores every state of a class, breadth first; past `limit` states the rest is joined.
pub fn explore(procedure: &Procedure, class: &Class, limit: usize) -> Paths {
    let code = Code::new(procedure, class);
    let mut seen: IndexSet<Words, FxBuildHasher> = IndexSet::with_hasher(FxBuildHasher);
    let mut from: Vec<Kept> = Vec::new();
    let mut moves: Vec<Kept> = Vec::new();
    let mut ends: Vec<u32> = Vec::new();
    let start = procedure.start().map(|s| code.start(s.raw(), &class.causes));
    if let Some(start) = &start {
        seen.insert(start.clone());
        from.push(Kept { arc: 0, next: 0 });
    }
    while ends.len() < seen.len() && seen.len() <= limit {
        let at = ends.len();
        let state = seen[at].clone();
        for (number, arc) in code.arcs(step_of(&state).raw()).iter().enumerate() {
            if !code.allows(&state, arc) {
                continue;
            }
            let next = match arc.to {
                None => END,
                Some(to) => {
                    let (next, new) = seen.insert_full(code.follow(&state, arc, to));
                    if new {
                        from.push(Kept { arc: number as u32, next: at as u32 });
                    }
                    next as u32
                }
            };
            moves.push(Kept { arc: number as u32, next });
        }
        ends.push(moves.len() as u32);
    }
    let joined = (ends.len() < seen.len()).then(|| join(procedure, &code, start));
    let mut at = vec![Vec::new(); procedure.steps.len()];
    let states: Vec<Words> = seen.into_iter().collect();
    for (number, state) in states.iter().enumerate() {
        at[step_of(state).raw()].push(number as u32);
    }
    Paths { code, states, from, moves, ends, at, joined }
}

/// One state per step: the union over all ways in, to a fixed point. Facts and causes only grow, so that it ends.
fn join(procedure: &Procedure, code: &Code, start: Option<Words>) -> Joined {
    let mut states: Vec<Option<Words>> = vec![None; procedure.steps.len()];
    let mut work: std::collections::BTreeSet<usize> = std::collections::BTreeSet::new();
    if let Some(start) = start {
        let at = step_of(&start).raw();
        states[at] = Some(start);
        work.insert(at);
    }
    while let Some(at) = work.pop_first() {
        let Some(state) = states[at].clone() else { continue };
        for arc in code.arcs(at).iter().filter(|arc| code.allows(&state, arc)) {
            let Some(to) = arc.to else { continue };
            let next = code.follow(&state, arc, to);
            let slot = &mut states[to as usize];
            let wider = match slot {
                None => next,
                Some(old) => {
                    old.iter().zip(&next).enumerate().map(|(i, (a, b))| if i == 0 { *a } else { a | b }).collect()
                }
            };
            if slot.as_ref() != Some(&wider) {
                *slot = Some(wider);
                work.insert(to as usize);
            }
        }
    }
    Joined { states }
}
