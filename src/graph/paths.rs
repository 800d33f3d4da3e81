//! Possible paths, exactly: every state that a job can be in, on one class of vehicles.
//!
//! In: a procedure and one class. Out: [`Paths`]: the states in the order of their distance from the start, how each
//! was first reached, and where each leads. A state is a step, what is still possible for each fact that a
//! later step reads, and the causes left. States are explored once each, breadth first, so that the way to each is a shortest one.
//!
//! Past the limit the exploration stops being exact: [`Paths::joined`] then holds, per step, the union of all facts and
//! causes that can reach it. Whoever asks "is this never possible" asks the joined states (an answer "never" stays
//! certain); whoever asks "is there a way" asks the exact ones met before the limit.

use std::collections::HashMap;

use super::Bounds;
use super::classes::{Class, Meets};
use super::live::{forgets, live, target};
use crate::model::{Cause, Procedure, Set, StepIx, Way};
use crate::quantity::CellSet;

/// Index of a state.
pub type StateAt = usize;

/// The facts that are known and still matter, by key; a key that is not listed may be anything.
pub type Facts = Vec<(u16, CellSet)>;

/// One state.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct State {
    /// The step about to be taken.
    pub step: StepIx,
    /// What is known.
    pub facts: Facts,
    /// Causes not ruled out yet.
    pub left: Set<Cause>,
}

/// How a step is left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Via {
    /// By this result.
    Result(usize),
    /// For want of equipment.
    Without,
}

/// Where a state leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Next {
    /// On to another state.
    State(StateAt),
    /// To an ending.
    End,
}

/// One move: how the step is left, where that leads, and the causes left then (an ending's own evidence counted).
#[derive(Clone, Debug)]
pub struct Move {
    /// How.
    pub via: Via,
    /// Where to.
    pub next: Next,
    /// What is left.
    pub left: Set<Cause>,
}

/// All states of one class.
#[derive(Debug)]
pub struct Paths {
    /// The states, nearest first.
    pub states: Vec<State>,
    /// The state and move that first led to each; none for the start.
    pub from: Vec<Option<(StateAt, Via)>>,
    /// The moves out of each state; empty past the limit.
    pub moves: Vec<Vec<Move>>,
    /// Per step, its states.
    pub at: Vec<Vec<StateAt>>,
    /// Per step, the union of all states, where the limit was hit.
    pub joined: Option<Vec<Option<State>>>,
}

impl Paths {
    /// Whether every state was explored.
    pub fn is_exact(&self) -> bool {
        self.joined.is_none()
    }

    /// The states to ask "is this never possible" of.
    pub fn widest(&self, step: StepIx) -> Vec<&State> {
        match &self.joined {
            Some(joined) => joined[step.raw()].iter().collect(),
            None => self.at[step.raw()].iter().map(|s| &self.states[*s]).collect(),
        }
    }

    /// Whether some path enters the step (past the limit: whether one may).
    pub fn enters(&self, step: StepIx) -> bool {
        !self.widest(step).is_empty()
    }

    /// The way to a state: each state on it with the move that leaves it.
    pub fn way(&self, to: StateAt) -> Vec<(StateAt, Via)> {
        let mut way = Vec::new();
        let mut at = to;
        while let Some((before, via)) = self.from[at] {
            way.push((before, via));
            at = before;
        }
        way.reverse();
        way
    }
}

/// What is known of a key in a state.
pub fn fact(class: &Class, state: &State, key: usize) -> CellSet {
    let known = state.facts.iter().find(|(k, _)| usize::from(*k) == key);
    known.map_or_else(|| class.keys[key].1.all(), |(_, cells)| cells.clone())
}

/// What exploring one class needs again and again.
pub struct Explorer<'a> {
    procedure: &'a Procedure,
    class: &'a Class,
    live: Vec<CellSet>,
    forgets: Vec<CellSet>,
    rules_out: Vec<Vec<Set<Cause>>>,
}

impl<'a> Explorer<'a> {
    /// Prepares the exploration of one class.
    pub fn new(procedure: &'a Procedure, class: &'a Class) -> Self {
        let causes = procedure.causes.len();
        Self {
            procedure,
            class,
            live: live(procedure, class),
            forgets: procedure.steps.iter().map(|(_, _, s)| forgets(s, class)).collect(),
            rules_out: procedure
                .steps
                .iter()
                .map(|(_, _, s)| s.results.iter().map(|r| r.rules_out(causes)).collect())
                .collect(),
        }
    }

    /// The moves that are possible in a state, each with the state that it leads to (none at an ending).
    pub fn moves(&self, state: &State) -> Vec<(Via, Set<Cause>, Option<State>)> {
        let at = state.step.raw();
        let step = &self.procedure.steps[state.step];
        let mut moves = Vec::with_capacity(step.results.len() + 1);
        let mut take = |result: usize, learned: Option<(usize, CellSet)>| {
            let left = state.left.minus(&self.rules_out[at][result]);
            let to = target(&step.results[result].way).map(|to| self.enter(state, to, at, learned, left.clone()));
            moves.push((Via::Result(result), left, to));
        };
        match &self.class.meets[at] {
            Meets::Done => take(0, None),
            Meets::Route(result) => {
                if let Some(result) = result {
                    take(*result, None);
                }
            }
            Meets::Blind => (0..step.results.len()).for_each(|r| take(r, None)),
            Meets::Test { key, takes } => {
                let known = fact(self.class, state, *key);
                for (result, cells) in takes.iter().enumerate() {
                    let cells = cells.intersect(&known);
                    if !cells.is_empty() {
                        take(result, Some((*key, cells)));
                    }
                }
            }
        }
        if let Some(without) = &step.without {
            let to = target(&without.way).map(|to| self.reach(to, state.facts.clone(), state.left.clone()));
            moves.push((Via::Without, state.left.clone(), to));
        }
        moves
    }

    /// The state after a result: its reading is learned, then what the step changes is forgotten.
    fn enter(&self, state: &State, to: usize, at: usize, learned: Option<(usize, CellSet)>, left: Set<Cause>) -> State {
        let mut facts = state.facts.clone();
        if let Some((key, cells)) = learned {
            facts.retain(|(k, _)| usize::from(*k) != key);
            facts.push((key as u16, cells));
            facts.sort_unstable_by_key(|(k, _)| *k);
        }
        let forgets = &self.forgets[at];
        facts.retain(|(key, _)| !forgets.contains(usize::from(*key)));
        self.reach(to, facts, left)
    }

    /// Facts that no later step reads, and facts that say nothing, are dropped.
    fn reach(&self, to: usize, mut facts: Facts, left: Set<Cause>) -> State {
        let live = &self.live[to];
        facts.retain(|(key, cells)| {
            live.contains(usize::from(*key)) && cells.len() < self.class.keys[usize::from(*key)].1.len()
        });
        State { step: StepIx::new(to), facts, left }
    }

    /// Explores every state, breadth first.
    pub fn explore(&self, bounds: Bounds) -> Paths {
        let mut paths = Paths {
            states: Vec::new(),
            from: Vec::new(),
            moves: Vec::new(),
            at: vec![Vec::new(); self.procedure.steps.len()],
            joined: None,
        };
        let Some(start) = self.procedure.start() else { return paths };
        let mut seen: HashMap<State, StateAt> = HashMap::new();
        let first = State { step: start, facts: Vec::new(), left: self.class.causes.clone() };
        add(&mut paths, &mut seen, first, None);
        let mut next = 0;
        while next < paths.states.len() && paths.states.len() <= bounds.states {
            let state = paths.states[next].clone();
            let moves = self
                .moves(&state)
                .into_iter()
                .map(|(via, left, to)| {
                    let next = match to {
                        Some(to) => Next::State(add(&mut paths, &mut seen, to, Some((next, via)))),
                        None => Next::End,
                    };
                    Move { via, next, left }
                })
                .collect();
            paths.moves.push(moves);
            next += 1;
        }
        if next < paths.states.len() {
            paths.moves.resize(paths.states.len(), Vec::new());
            paths.joined = Some(self.join());
        }
        paths
    }

    /// One state per step: the union of facts and causes over all ways in, to a fixed point.
    fn join(&self) -> Vec<Option<State>> {
        let mut joined: Vec<Option<State>> = vec![None; self.procedure.steps.len()];
        let Some(start) = self.procedure.start() else { return joined };
        joined[start.raw()] = Some(State { step: start, facts: Vec::new(), left: self.class.causes.clone() });
        let mut work = vec![start.raw()];
        while let Some(at) = work.pop() {
            let Some(state) = joined[at].clone() else { continue };
            for to in self.moves(&state).into_iter().filter_map(|(_, _, to)| to) {
                let slot = to.step.raw();
                let merged = match &joined[slot] {
                    None => to,
                    Some(old) => widen(old, &to),
                };
                if joined[slot].as_ref() != Some(&merged) {
                    joined[slot] = Some(merged);
                    work.push(slot);
                }
            }
        }
        joined
    }
}

fn add(paths: &mut Paths, seen: &mut HashMap<State, StateAt>, state: State, from: Option<(StateAt, Via)>) -> StateAt {
    if let Some(at) = seen.get(&state) {
        return *at;
    }
    let at = paths.states.len();
    paths.at[state.step.raw()].push(at);
    paths.states.push(state.clone());
    paths.from.push(from);
    seen.insert(state, at);
    at
}

/// The union of two states of one step: a fact that only one of them knows is not known.
fn widen(old: &State, new: &State) -> State {
    let facts = old
        .facts
        .iter()
        .filter_map(|(key, cells)| {
            let other = new.facts.iter().find(|(k, _)| k == key)?;
            Some((*key, cells.union(&other.1)))
        })
        .collect();
    State { step: old.step, facts, left: old.left.or(&new.left) }
}

/// The way that a move takes.
pub fn way_of(procedure: &Procedure, step: StepIx, via: Via) -> Option<&Way> {
    let step = &procedure.steps[step];
    match via {
        Via::Result(result) => step.results.get(result).map(|r| &r.way),
        Via::Without => step.without.as_ref().map(|w| &w.way),
    }
}
