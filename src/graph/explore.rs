//! The exploration of one class: exact up to a limit, joined past it.
//!
//! In: a procedure, one class, a limit. Out: [`Paths`].

use indexmap::IndexSet;
use rustc_hash::FxBuildHasher;

use super::classes::Class;
use super::code::{Code, Words, step_of};
use super::paths::{END, Kept, Paths, Via};
use crate::model::{Cause, Procedure, Set, StepIx};

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

/// One state, for who walks over them in an order of its own.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct State(Words);

impl State {
    /// The step about to be taken.
    pub fn step(&self) -> StepIx {
        step_of(&self.0)
    }
}

/// The states of one class, one after the other.
pub struct Explorer {
    code: Code,
}

impl Explorer {
    /// Prepares a walk over the states of a class.
    pub fn new(procedure: &Procedure, class: &Class) -> Self {
        Self { code: Code::new(procedure, class) }
    }

    /// The state in which a job of this class starts, at a step.
    pub fn start(&self, class: &Class, step: StepIx) -> State {
        State(self.code.start(step.raw(), &class.causes))
    }

    /// The moves that are possible in a state: the causes left then, and the state that it leads to (none at an ending).
    pub fn moves(&self, state: &State) -> Vec<(Via, Set<Cause>, Option<State>)> {
        let arcs = self.code.arcs(state.step().raw()).iter().filter(|arc| self.code.allows(&state.0, arc));
        arcs.map(|arc| {
            let next = arc.to.map(|to| State(self.code.follow(&state.0, arc, to)));
            (arc.via, self.code.left_after(&state.0, arc), next)
        })
        .collect()
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
