//! In: a [`Space`]. Out: the least minutes from a state, by branch and bound that remembers every state it met.

use crate::order::bits::Bits;
use crate::order::bound::Bound;
use crate::order::space::{Move, Options, Space, State};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

/// The most bytes of states to remember, about.
const MEMORY: usize = 60_000_000;

/// What is known of a state, in mass.
#[derive(Clone, Copy, Debug)]
struct Known {
    value: f64,
    how: How,
}

/// How well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
enum How {
    /// No order costs less.
    Bound,
    /// No step is left to take, or none that leads to an end.
    End,
    /// The value, which this step attains.
    By(u16),
}

/// A search that can be stopped.
#[derive(Debug)]
pub struct Search<'a, S> {
    space: &'a Space<S>,
    known: FxHashMap<State<S>, Known>,
    /// The most states to remember.
    most: usize,
    work: u64,
    /// Bounds to be worked out anew.
    spare: Vec<Bound<S>>,
    /// Unknown because the allowance of work ran out.
    pub stopped: bool,
}

/// A step with what it costs at least.
#[derive(Clone, Copy)]
struct Choice {
    step: usize,
    least: f64,
}

impl<'a, S: Bits> Search<'a, S> {
    /// A search that may look at about `work` pairs of a state and a step.
    pub fn new(space: &'a Space<S>, work: u64) -> Self {
        let most = MEMORY / size_of::<(State<S>, Known)>();
        Search { space, known: FxHashMap::default(), most, work, spare: Vec::new(), stopped: false }
    }

    /// The value of the state if it is below the limit; else a bound that is not below it (or any bound, when stopped).
    pub fn solve(&mut self, state: State<S>, limit: f64) -> f64 {
        if state.left.rest().is_none() {
            return 0.0;
        }
        if let Some(step) = self.space.parting(state) {
            return self.space.steps[step].minutes * self.space.mass(state);
        }
        let mut floor = 0.0;
        if let Some(known) = self.known.get(&state) {
            if known.how != How::Bound || known.value >= limit {
                return known.value;
            }
            floor = known.value;
        }
        if self.work == 0 || self.known.len() >= self.most {
            self.stopped = true;
        }
        if self.stopped {
            return floor;
        }
        let moves = match self.space.options(state) {
            Options::Leaf => return self.learn(state, 0.0, How::End),
            Options::Dead => return self.learn(state, f64::INFINITY, How::End),
            Options::Moves(moves) => moves,
        };
        // a bound looks at pairs: wide states take longer
        let pairs = (state.left.count() as u64).pow(2);
        self.work = self.work.saturating_sub(moves.count() as u64 * (256 + pairs) / 256);
        let mut bound = self.spare.pop().unwrap_or_default();
        bound.work_out(self.space, state, limit);
        let value = self.branch(state, &bound, (floor, limit), moves);
        self.spare.push(bound);
        value
    }

    /// Tries the steps that may be worth it.
    fn branch(&mut self, state: State<S>, bound: &Bound<S>, (floor, limit): (f64, f64), moves: S) -> f64 {
        let mut least = bound.value;
        if least < limit {
            least += self.space.toll(state) * bound.mass;
        }
        if least >= limit {
            return self.learn(state, least, How::Bound);
        }
        let (mut best, mut lowest, mut how) = (limit, f64::INFINITY, How::Bound);
        for choice in self.choices(state, bound, moves) {
            if choice.least >= best {
                lowest = lowest.min(choice.least);
                break;
            }
            let value = self.follow(state, choice.step, bound, best);
            lowest = lowest.min(value);
            if self.stopped {
                return floor.max(least);
            }
            if value < best {
                (best, how) = (value, How::By(choice.step as u16));
            }
        }
        self.learn(state, if how == How::Bound { lowest.max(least).max(floor) } else { best }, how)
    }

    /// The value of a choice if it is below the limit; else a bound that is not below it.
    fn follow(&mut self, state: State<S>, step: usize, bound: &Bound<S>, limit: f64) -> f64 {
        let go = self.space.go(state, step);
        let behind = self.behind(&go, bound);
        let mut sum = go.minutes * bound.mass + behind.iter().sum::<f64>();
        if sum >= limit {
            return sum;
        }
        let mut order: SmallVec<[usize; 4]> = (0..behind.len()).collect();
        order.sort_by_key(|&index| go.next[index].1.left.count());
        for index in order {
            let (_, state, factor) = go.next[index];
            if factor <= 0.0 {
                continue;
            }
            let rest = sum - behind[index];
            let most = (limit - rest) / factor;
            let value = self.solve(state, most);
            sum = rest + f64::max(value * factor, behind[index]);
            if value >= most {
                // a bound, whatever rounding says: below the limit there are only values
                sum = sum.max(limit);
            }
            if sum >= limit || self.stopped {
                break;
            }
        }
        sum
    }

    /// The best bound known for a state.
    pub fn floor(&self, state: State<S>) -> f64 {
        let known = self.known.get(&state).map_or(0.0, |known| known.value);
        let Options::Moves(moves) = self.space.options(state) else { return known };
        let bound = Bound::new(self.space, state);
        let ahead = self.choices(state, &bound, moves).first().map_or(0.0, |choice| choice.least);
        known.max(bound.value + self.space.toll(state) * bound.mass).max(ahead)
    }

    /// The steps that can be done, those that may cost least first.
    fn choices(&self, state: State<S>, bound: &Bound<S>, moves: S) -> SmallVec<[Choice; 16]> {
        let choice = |step: usize| {
            let part = &self.space.steps[step];
            let behind: f64 = if part.outcomes.is_empty() {
                bound.within(state.left, part)
            } else {
                part.outcomes.iter().map(|&outcome| bound.within(state.left & outcome, part)).sum()
            };
            Choice { step, least: self.space.minutes(state, step) * bound.mass + behind }
        };
        let mut choices: SmallVec<[Choice; 16]> = moves.members().map(choice).collect();
        choices.sort_by(|a, b| a.least.total_cmp(&b.least).then(a.step.cmp(&b.step)));
        choices
    }

    /// The best bound known for each state behind a step, factors included.
    fn behind(&self, go: &Move<S>, bound: &Bound<S>) -> SmallVec<[f64; 4]> {
        let part = &self.space.steps[go.step];
        let of = |(_, state, factor): &(usize, State<S>, f64)| {
            let known = self.known.get(state).map_or(0.0, |known| known.value * factor);
            known.max(bound.within(state.left, part))
        };
        go.next.iter().map(of).collect()
    }

    fn learn(&mut self, state: State<S>, value: f64, how: How) -> f64 {
        self.known.insert(state, Known { value, how });
        value
    }

    /// The step that attains the value of a state on the way of an order that was found.
    pub fn choose(&self, state: State<S>) -> Option<usize> {
        if let Some(known) = self.known.get(&state) {
            return if let How::By(step) = known.how { Some(step.into()) } else { None };
        }
        self.space.parting(state)
    }
}
