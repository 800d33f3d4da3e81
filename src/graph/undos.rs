//! What may still have to be put back where a job ends.
//!
//! In: the possible paths of a procedure. Out: [`OpenUndos`]: per way out of a step, the undos that some path leaves open there.
//! They ride along as a set per state, outside the identity of the state: opened by a step's own `undo` and its setups', closed
//! by `undoes` and by a setup that `ends` another.

use std::collections::{BTreeMap, VecDeque};

use super::Analysis;
use super::paths::{Next, Paths, Via};
use crate::model::{Base, Procedure, Set, SetupIx, Step, StepIx};

/// Something to put back: what opened it, and what to do.
#[derive(Debug)]
struct Item {
    step: Option<StepIx>,
    setup: Option<SetupIx>,
    text: String,
}

/// Per way out of a step, what some path leaves open there.
pub struct OpenUndos {
    items: Vec<Item>,
    open: BTreeMap<(StepIx, Via), Set<Item>>,
}

impl OpenUndos {
    /// Follows the undos along all possible paths.
    pub fn new(analysis: &Analysis<'_>) -> Self {
        let items = items(analysis.base, analysis.procedure);
        let mut all = Self { items, open: BTreeMap::new() };
        if !all.items.is_empty() {
            for (_, paths) in &analysis.classes {
                all.follow(analysis.base, analysis.procedure, paths);
            }
        }
        all
    }

    /// What to put back after a way out of a step, in the order in which the procedure opens it.
    pub fn after(&self, step: StepIx, via: Via) -> impl Iterator<Item = &str> {
        let open = self.open.get(&(step, via)).into_iter().flat_map(Set::iter);
        open.map(|item| self.items[item.raw()].text.as_str())
    }

    fn follow(&mut self, base: &Base, procedure: &Procedure, paths: &Paths) {
        let mut at: Vec<Set<Item>> = vec![Set::new(); paths.len()];
        let mut queued = vec![true; paths.len()];
        let mut queue: VecDeque<usize> = (0..paths.len()).collect();
        while let Some(state) = queue.pop_front() {
            queued[state] = false;
            let step = paths.step(state);
            let done = self.done(base, step, &procedure.steps[step], &at[state]);
            for m in paths.moves(state) {
                // Who can't take the step leaves everything as it is.
                let after = if m.via == Via::Without { &at[state] } else { &done };
                let open = self.open.entry((step, m.via)).or_default();
                *open = open.or(after);
                let Next::State(next) = m.next else { continue };
                let wider = at[next].or(after);
                if wider != at[next] {
                    at[next] = wider;
                    if !std::mem::replace(&mut queued[next], true) {
                        queue.push_back(next);
                    }
                }
            }
        }
    }

    /// What is open once a step is done.
    fn done(&self, base: &Base, at: StepIx, step: &Step, open: &Set<Item>) -> Set<Item> {
        let mut open = open.clone();
        for (number, item) in self.items.iter().enumerate() {
            let undone = step.undoes.iter().any(|u| Some(u.value) == item.step);
            let mut ended = step.shared.setup.iter().flat_map(|s| &base.setups[s.value].ends);
            if undone || ended.any(|e| Some(e.value) == item.setup) {
                open.remove(crate::model::Ix::new(number));
            }
            if item.step == Some(at) || step.shared.setup.iter().any(|s| Some(s.value) == item.setup) {
                open.insert(crate::model::Ix::new(number));
            }
        }
        open
    }
}

/// Everything that a procedure may leave to be put back, in written order; a setup once.
fn items(base: &Base, procedure: &Procedure) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    for (at, _, step) in procedure.steps.iter() {
        for setup in &step.shared.setup {
            if let Some(undo) = &base.setups[setup.value].undo
                && items.iter().all(|i| i.setup != Some(setup.value))
            {
                items.push(Item { step: None, setup: Some(setup.value), text: undo.value.clone() });
            }
        }
        if let Some(undo) = &step.shared.undo {
            items.push(Item { step: Some(at), setup: None, text: undo.value.clone() });
        }
    }
    items
}
