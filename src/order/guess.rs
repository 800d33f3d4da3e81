//! In: a [`Space`] of any size. Out: good orders of work without proof: a one-step look-ahead, and a search to a limited
//! depth that asks the look-ahead what comes after.

use crate::order::problem::members;
use crate::order::space::{Move, Options, Space, State};
use rustc_hash::FxHashMap;

/// How many tests the deeper search follows in each state.
const WIDTH: usize = 8;

/// Orders of work by rule of thumb.
#[derive(Debug)]
pub struct Guess<'a> {
    space: &'a Space,
    near: FxHashMap<State, f64>,
    far: FxHashMap<State, (f64, usize)>,
    work: u64,
}

impl<'a> Guess<'a> {
    /// Rules of thumb that may look at about `work` pairs of a state and a step before the deeper search gives up.
    pub fn new(space: &'a Space, work: u64) -> Self {
        Guess { space, near: FxHashMap::default(), far: FxHashMap::default(), work }
    }

    /// The step that parts the most pairs of causes (by the product of their weights) per minute, with the minutes of
    /// all that must come before it; or what must come first.
    pub fn near_step(&mut self, state: State) -> Option<usize> {
        let Options::Moves(moves) = self.space.options(state) else { return None };
        self.work = self.work.saturating_sub(u64::from(moves.count_ones()));
        let mut best: Option<(f64, usize)> = None;
        for target in members(self.space.useful_in(state)) {
            let path = self.space.path(target, state.memory);
            if moves & path == 0 {
                continue;
            }
            let gain = self.parted(state, target);
            let minutes: f64 = members(path).map(|step| self.space.go(state, step).minutes).sum();
            let worth = if minutes > 0.0 { gain / minutes } else { f64::INFINITY };
            if best.is_none_or(|(most, _)| worth > most) {
                best = Some((worth, (moves & path).trailing_zeros() as usize));
            }
        }
        best.map(|(_, step)| step).or_else(|| members(moves).next())
    }

    /// The weight of the pairs that a test parts.
    fn parted(&self, state: State, step: usize) -> f64 {
        let mass = self.space.mass(state);
        let part = &self.space.steps[step];
        let behind = part.outcomes.iter().map(|&outcome| {
            let inside = members(state.left).zip(self.space.weights(state));
            let inside = inside.filter(|(class, _)| outcome >> class & 1 == 1);
            let there: f64 = inside.map(|(class, weight)| weight * part.share[class]).sum();
            there * there
        });
        mass * mass - behind.sum::<f64>()
    }

    /// What the look-ahead costs from a state, in mass.
    pub fn near(&mut self, state: State) -> f64 {
        if let Some(&value) = self.near.get(&state) {
            return value;
        }
        let value = match self.near_step(state) {
            Some(step) => self.then(state, step, Guess::near).1,
            None => self.end(state),
        };
        self.near.insert(state, value);
        value
    }

    /// What the deeper search costs from a state, in mass, with the step that it takes.
    pub fn far(&mut self, state: State) -> (f64, Option<usize>) {
        if let Some(&(value, step)) = self.far.get(&state) {
            return (value, Some(step));
        }
        let Options::Moves(moves) = self.space.options(state) else { return (self.end(state), None) };
        if self.work == 0 {
            return (self.near(state), self.near_step(state));
        }
        let mut ranked: Vec<(f64, usize)> =
            members(moves).map(|step| (self.then(state, step, Guess::near).1, step)).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        ranked.truncate(WIDTH);
        let mut best = ranked[0];
        let mut chosen = best.1;
        for &(_, step) in &ranked {
            let value = self.then(state, step, Guess::one_deeper).1;
            if value < best.0 {
                best.0 = value;
                chosen = step;
            }
        }
        let value = self.then(state, chosen, |guess, next| guess.far(next).0).1;
        self.far.insert(state, (value, chosen));
        (value, Some(chosen))
    }

    /// The best step now, the look-ahead after it.
    fn one_deeper(&mut self, state: State) -> f64 {
        let Options::Moves(moves) = self.space.options(state) else { return self.end(state) };
        if self.work == 0 {
            return self.near(state);
        }
        members(moves).map(|step| self.then(state, step, Guess::near).1).fold(f64::INFINITY, f64::min)
    }

    fn then(&mut self, state: State, step: usize, mut after: impl FnMut(&mut Self, State) -> f64) -> (Move, f64) {
        let go = self.space.go(state, step);
        let mut sum = go.minutes * self.space.mass(state);
        for (_, next, factor) in &go.next {
            if *factor > 0.0 {
                sum += factor * after(self, *next);
            }
        }
        (go, sum)
    }

    fn end(&self, state: State) -> f64 {
        if matches!(self.space.options(state), Options::Dead) { f64::INFINITY } else { 0.0 }
    }
}
