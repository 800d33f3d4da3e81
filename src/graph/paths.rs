//! Possible paths, exactly: every state that a job can be in, on one class of vehicles.
//!
//! In: what [`explore`](super::explore) found. Out: [`Paths`]: the states in the order of their distance from the start, how each
//! was first reached, and where each leads. A state is a step, what is still possible for each fact that a
//! later step reads, and the causes left. States are explored once each, breadth first, so that the way to each is a shortest one.
//!
//! Past the limit the exploration stops being exact: [`Paths`] then also holds, per step, the union of all facts and
//! causes that can reach it. Whoever asks "is this never possible" gets the answer of the joined states (an answer "never"
//! stays certain); whoever asks "is there a way" gets that of the exact ones met before the limit.

use super::code::{Arc, Code, Words, step_of};
use super::explore::Joined;
use crate::model::{Cause, Procedure, Set, StepIx, Way};
use crate::quantity::CellSet;

/// Index of a state.
pub type StateAt = usize;

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

/// One move: how the step is left, and where that leads.
#[derive(Clone, Copy, Debug)]
pub struct Move {
    /// How.
    pub via: Via,
    /// Where to.
    pub next: Next,
    arc: u32,
}

/// A move as it is kept: the position of its arc among those of the step, and the state it leads to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kept {
    pub(super) arc: u32,
    pub(super) next: u32,
}

/// Stands for an ending in [`Kept`].
pub(super) const END: u32 = u32::MAX;

/// All states of one class.
#[derive(Debug)]
pub struct Paths {
    pub(super) code: Code,
    pub(super) states: Vec<Words>,
    pub(super) from: Vec<Kept>,
    pub(super) moves: Vec<Kept>,
    /// Where the moves of each explored state end.
    pub(super) ends: Vec<u32>,
    /// Per step, its states.
    pub(super) at: Vec<Vec<u32>>,
    pub(super) joined: Option<Joined>,
}

impl Paths {
    /// How many states were met.
    pub fn len(&self) -> usize {
        self.states.len()
    }

    /// Whether there is none (a procedure without steps).
    pub fn is_empty(&self) -> bool {
        self.states.is_empty()
    }

    /// Whether every state was explored.
    pub fn is_exact(&self) -> bool {
        self.joined.is_none()
    }

    /// The step of a state.
    pub fn step(&self, state: StateAt) -> StepIx {
        step_of(&self.states[state])
    }

    /// The causes left in a state.
    pub fn left(&self, state: StateAt) -> Set<Cause> {
        self.code.left(&self.states[state])
    }

    /// The causes left once a move is made; an ending's own evidence counts.
    pub fn left_after(&self, state: StateAt, m: Move) -> Set<Cause> {
        self.code.left_after(&self.states[state], self.arc(state, m.arc))
    }

    /// What is known of a key in a state.
    pub fn fact(&self, state: StateAt, key: usize) -> CellSet {
        self.code.fact(&self.states[state], key)
    }

    /// The states of a step, nearest first.
    pub fn at(&self, step: StepIx) -> impl ExactSizeIterator<Item = StateAt> + '_ {
        self.at[step.raw()].iter().map(|s| *s as StateAt)
    }

    /// The moves out of a state, in written order; none where the limit stopped the exploration before it.
    pub fn moves(&self, state: StateAt) -> impl Iterator<Item = Move> + '_ {
        let from = if state == 0 { 0 } else { self.ends.get(state - 1).map_or(self.moves.len(), |e| *e as usize) };
        let to = self.ends.get(state).map_or(from, |e| *e as usize);
        self.moves[from..to].iter().map(move |kept| {
            let next = if kept.next == END { Next::End } else { Next::State(kept.next as StateAt) };
            Move { via: self.arc(state, kept.arc).via, next, arc: kept.arc }
        })
    }

    fn arc(&self, state: StateAt, arc: u32) -> &Arc {
        &self.code.arcs(self.step(state).raw())[arc as usize]
    }

    /// The move of a state that leaves its step so, if it is possible.
    pub fn leaving(&self, state: StateAt, via: Via) -> Option<Move> {
        self.moves(state).find(|m| m.via == via)
    }

    /// Whether some path enters the step; past the limit "no" is not certain.
    pub fn enters(&self, step: StepIx) -> bool {
        !self.at[step.raw()].is_empty()
    }

    /// Whether some path enters the step; past the limit "yes" is not certain.
    pub fn may_enter(&self, step: StepIx) -> bool {
        match &self.joined {
            None => !self.at[step.raw()].is_empty(),
            Some(joined) => joined.state(step).is_some(),
        }
    }

    /// Whether some path leaves a step so; past the limit "no" is not certain.
    pub fn surely_takes(&self, step: StepIx, via: Via) -> bool {
        self.at(step).any(|s| self.leaving(s, via).is_some())
    }

    /// Whether some path leaves a step so; past the limit "yes" is not certain.
    pub fn takes(&self, step: StepIx, via: Via) -> bool {
        match &self.joined {
            None => self.surely_takes(step, via),
            Some(joined) => self.widest_arc(joined, step, via).is_some(),
        }
    }

    /// The causes that are left on some path that leaves a step so, once it has (past the limit: on some that may).
    pub fn ever_left_after(&self, step: StepIx, via: Via) -> Set<Cause> {
        self.ever(step, via, true)
    }

    /// The causes that are left on some path that leaves a step so, before it does (past the limit: on some that may).
    pub fn ever_left_before(&self, step: StepIx, via: Via) -> Set<Cause> {
        self.ever(step, via, false)
    }

    fn ever(&self, step: StepIx, via: Via, after: bool) -> Set<Cause> {
        match &self.joined {
            None => self.at(step).fold(Set::new(), |all, s| match self.leaving(s, via) {
                Some(m) if after => all.or(&self.left_after(s, m)),
                Some(_) => all.or(&self.left(s)),
                None => all,
            }),
            Some(joined) => match (self.widest_arc(joined, step, via), joined.state(step)) {
                (Some(arc), Some(state)) if after => self.code.left_after(state, arc),
                (Some(_), Some(state)) => self.code.left(state),
                _ => Set::new(),
            },
        }
    }

    fn widest_arc(&self, joined: &Joined, step: StepIx, via: Via) -> Option<&Arc> {
        let state = joined.state(step)?;
        self.code.arcs(step.raw()).iter().find(|a| a.via == via && self.code.allows(state, a))
    }

    /// The state before, and how it was left, on the way that first led to a state; nothing at the start.
    pub fn before(&self, state: StateAt) -> Option<(StateAt, Via)> {
        (state != 0).then(|| {
            let kept = self.from[state];
            (kept.next as StateAt, self.arc(kept.next as StateAt, kept.arc).via)
        })
    }

    /// How many steps the shortest way to a state takes.
    pub fn depth(&self, state: StateAt) -> usize {
        std::iter::successors(Some(state), |s| self.before(*s).map(|(before, _)| before)).count() - 1
    }

    /// The shortest way to a state: each state on it with the move that leaves it.
    pub fn way(&self, to: StateAt) -> Vec<(StateAt, Via)> {
        let mut way: Vec<_> = std::iter::successors(self.before(to), |(s, _)| self.before(*s)).collect();
        way.reverse();
        way
    }
}

/// The way that a move takes.
pub fn way_of(procedure: &Procedure, step: StepIx, via: Via) -> Option<&Way> {
    let step = &procedure.steps[step];
    match via {
        Via::Result(result) => step.results.get(result).map(|r| &r.way),
        Via::Without => step.without.as_ref().map(|w| &w.way),
    }
}
