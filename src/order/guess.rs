//! In: a [`Space`] of any size. Out: good orders of work without proof: a one-step look-ahead, and a search to a limited
//! depth that asks the look-ahead what comes after.

use crate::order::bits::Bits;
use crate::order::space::{Options, Space, State};
use rustc_hash::FxHashMap;

/// How many tests the deeper search follows in each state.
const WIDTH: usize = 8;

/// Orders of work by rule of thumb.
#[derive(Debug)]
pub struct Guess<'a, S> {
    space: &'a Space<S>,
    near: FxHashMap<State<S>, f64>,
    far: FxHashMap<State<S>, (f64, usize)>,
    work: u64,
}

impl<'a, S: Bits> Guess<'a, S> {
    /// Rules of thumb that may look at about `work` pairs of a state and a step. Past that a state counts as the minutes of all that
    /// could still be done.
    pub fn new(space: &'a Space<S>, work: u64) -> Self {
        Guess { space, near: FxHashMap::default(), far: FxHashMap::default(), work }
    }

    /// The step that parts the most pairs of causes (by the product of their weights) per minute, with the minutes of
    /// all that must come before it; or what must come first.
    pub fn near_step(&self, state: State<S>) -> Option<usize> {
        let Options::Moves(moves) = self.space.options(state) else { return None };
        let weights: Vec<f64> = self.space.weights(state).collect();
        let mass: f64 = weights.iter().sum();
        let mut best: Option<(f64, usize)> = None;
        for target in self.space.useful_in(state).members() {
            let path = self.space.path(target, state.memory);
            if !moves.meets(path) {
                continue;
            }
            let gain = mass * mass - self.together(state, target, &weights);
            let minutes: f64 = path.members().map(|step| self.space.minutes(state, step)).sum();
            let worth = if minutes > 0.0 { gain / minutes } else { f64::INFINITY };
            if best.is_none_or(|(most, _)| worth > most) {
                best = Some((worth, (moves & path).lowest()));
            }
        }
        best.map(|(_, step)| step).or_else(|| moves.members().next())
    }

    /// The weight of the pairs that a test leaves together.
    fn together(&self, state: State<S>, step: usize, weights: &[f64]) -> f64 {
        let part = &self.space.steps[step];
        let behind = part.outcomes.iter().map(|&outcome| {
            let inside = state.left.members().zip(weights).filter(|(class, _)| outcome.has(*class));
            let there: f64 = inside.map(|(class, weight)| weight * part.share[class]).sum();
            there * there
        });
        behind.sum()
    }

    /// What the look-ahead costs from a state, in mass.
    pub fn near(&mut self, state: State<S>) -> f64 {
        if let Some(&value) = self.near.get(&state) {
            return value;
        }
        if self.work == 0 {
            return self.space.most(state);
        }
        let spent = self.space.useful_in(state).count() * (1 + state.left.count() / 64);
        self.work = self.work.saturating_sub(spent as u64);
        let value = match self.near_step(state) {
            Some(step) => self.then(state, step, Guess::near),
            None => self.end(state),
        };
        self.near.insert(state, value);
        value
    }

    /// What the deeper search costs from a state, in mass, with the step that it takes.
    pub fn far(&mut self, state: State<S>) -> (f64, Option<usize>) {
        if let Some(&(value, step)) = self.far.get(&state) {
            return (value, Some(step));
        }
        let Options::Moves(moves) = self.space.options(state) else { return (self.end(state), None) };
        if self.work == 0 {
            return (self.near(state), self.near_step(state));
        }
        let mut ranked: Vec<(f64, usize)> =
            moves.members().map(|step| (self.then(state, step, Guess::near), step)).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        ranked.truncate(WIDTH);
        let (mut least, mut chosen) = ranked[0];
        for &(_, step) in &ranked {
            let value = self.then(state, step, Guess::one_deeper);
            if value < least {
                (least, chosen) = (value, step);
            }
        }
        let value = self.then(state, chosen, |guess, next| guess.far(next).0);
        self.far.insert(state, (value, chosen));
        (value, Some(chosen))
    }

    /// The step that the deeper search takes; past its work the look-ahead's.
    pub fn far_step(&self, state: State<S>) -> Option<usize> {
        self.far.get(&state).map(|(_, step)| *step).or_else(|| self.near_step(state))
    }

    /// The best step now, the look-ahead after it.
    fn one_deeper(&mut self, state: State<S>) -> f64 {
        let Options::Moves(moves) = self.space.options(state) else { return self.end(state) };
        if self.work == 0 {
            return self.near(state);
        }
        moves.members().map(|step| self.then(state, step, Guess::near)).fold(f64::INFINITY, f64::min)
    }

    fn then(&mut self, state: State<S>, step: usize, mut after: impl FnMut(&mut Self, State<S>) -> f64) -> f64 {
        let go = self.space.go(state, step);
        let mut sum = go.minutes * self.space.mass(state);
        for (_, next, factor) in &go.next {
            if *factor > 0.0 {
                sum += factor * after(self, *next);
            }
        }
        sum
    }

    fn end(&self, state: State<S>) -> f64 {
        if matches!(self.space.options(state), Options::Dead) { f64::INFINITY } else { 0.0 }
    }
}
