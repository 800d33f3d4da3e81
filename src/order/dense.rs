//! In: a [`Space`] whose states are its sets of classes (and shared tests done). Out: the value of every one of them.
//!
//! One number for each set, smallest sets first, so that the time is the same for every shape of problem: it is the net
//! under the search, for tests that each single out one cause and the like.

use crate::order::bits::Bits;
use crate::order::space::{Part, Space, State};

/// The most bits of a state: 2^24 numbers are 128 MB.
pub const BITS: usize = 24;

/// The values of all states.
#[derive(Debug)]
pub struct Dense<'a, S> {
    space: &'a Space<S>,
    /// Shared tests, by position; bit `i` of a row's number stands for the one at `i`.
    shared: Vec<usize>,
    /// A row for each set of shared tests done; in it a number for each set of classes.
    rows: Vec<Vec<f64>>,
}

/// Weights of sets, as the sum of two tables.
struct Masses {
    low: Vec<f64>,
    high: Vec<f64>,
}

/// Tests that need no memory, by the number of their outcomes.
#[derive(Default)]
struct Plain {
    two: Vec<([usize; 2], f64)>,
    three: Vec<([usize; 3], f64)>,
    more: Vec<(Vec<usize>, f64)>,
    /// Tests that leave a class to no outcome: a set may have none that splits it.
    partial: Vec<(Vec<usize>, f64)>,
}

impl<'a, S: Bits> Dense<'a, S> {
    /// Whether the states of a space are few enough, and of the right kind.
    pub fn fits(space: &Space<S>) -> bool {
        let shared = space.steps.iter().filter(|part| part.shared).count();
        space.shared_only && space.classes.len() + shared <= BITS
    }

    /// Values every state. Only where it [fits](Dense::fits).
    pub fn new(space: &'a Space<S>) -> Self {
        let shared: Vec<usize> = (0..space.steps.len()).filter(|&step| space.steps[step].shared).collect();
        let mut dense = Dense { space, rows: vec![Vec::new(); 1 << shared.len()], shared };
        let plain = Plain::new(space);
        for done in (0..dense.rows.len()).rev() {
            dense.rows[done] = dense.row(done, &plain);
        }
        dense
    }

    fn row(&self, done: usize, plain: &Plain) -> Vec<f64> {
        let size = 1 << self.space.classes.len();
        let masses = Masses::new(&self.weights(done));
        let open: Vec<(&Part<S>, Vec<usize>, &[f64])> = (0..self.shared.len())
            .filter(|bit| done >> bit & 1 == 0)
            .map(|bit| (&self.space.steps[self.shared[bit]], self.rows[done | 1 << bit].as_slice()))
            .map(|(part, then)| (part, part.outcomes.iter().map(|outcome| number(*outcome)).collect(), then))
            .collect();
        // a set that a test doesn't split meets itself, still endless, and so passes the test over
        let mut row = vec![f64::INFINITY; size];
        row[0] = 0.0;
        // behind a test that was done lie only sets within one of its outcomes
        let within: Vec<Vec<usize>> = (0..self.shared.len())
            .filter(|bit| done >> bit & 1 == 1)
            .map(|bit| self.space.steps[self.shared[bit]].outcomes.iter().map(|outcome| number(*outcome)).collect())
            .collect();
        for set in 1..size {
            if !within.iter().all(|outcomes| outcomes.iter().any(|outcome| set & !outcome == 0)) {
                continue;
            }
            let mass = masses.of(set);
            let mut best = plain.best(set, mass, &row);
            for (part, outcomes, then) in &open {
                if outcomes.iter().any(|outcome| set & outcome != 0 && set & outcome != set) {
                    let behind: f64 = outcomes.iter().map(|outcome| then[set & outcome]).sum();
                    best = best.min(part.minutes * mass + behind);
                }
            }
            row[set] = if best < f64::INFINITY { best } else { 0.0 };
        }
        row
    }

    fn weights(&self, done: usize) -> Vec<f64> {
        (0..self.space.classes.len())
            .map(|class| {
                let taken = (0..self.shared.len()).filter(|bit| done >> bit & 1 == 1);
                let taken = taken.map(|bit| self.space.steps[self.shared[bit]].share[class]);
                taken.fold(self.space.weights[class], |weight, share| weight * share)
            })
            .collect()
    }

    /// The value of a state, in mass.
    pub fn value(&self, state: State<S>) -> f64 {
        let done = (0..self.shared.len())
            .filter(|&bit| self.space.steps[self.shared[bit]].done(state.memory))
            .fold(0, |set: usize, bit| set | 1 << bit);
        self.rows[done][number(state.left)]
    }
}

/// A set as the number of its row.
fn number<S: Bits>(set: S) -> usize {
    set.members().fold(0, |number, at| number | 1 << at)
}

impl Masses {
    fn new(weights: &[f64]) -> Self {
        let half = weights.len().min(BITS / 2);
        let table = |weights: &[f64]| {
            let sum =
                |set: usize| (0..weights.len()).filter(|class| set >> class & 1 == 1).map(|class| weights[class]).sum();
            (0..1 << weights.len()).map(sum).collect()
        };
        Masses { low: table(&weights[..half]), high: table(&weights[half..]) }
    }

    #[inline]
    fn of(&self, set: usize) -> f64 {
        self.low[set & (self.low.len() - 1)] + self.high[set / self.low.len()]
    }
}

impl Plain {
    fn new<S: Bits>(space: &Space<S>) -> Self {
        let mut plain = Plain::default();
        for part in space.steps.iter().filter(|part| !part.shared) {
            let sets: Vec<usize> = part.outcomes.iter().map(|&outcome| number(outcome)).collect();
            match *sets.as_slice() {
                _ if !part.partition => plain.partial.push((sets, part.minutes)),
                [a, b] => plain.two.push(([a, b], part.minutes)),
                [a, b, c] => plain.three.push(([a, b, c], part.minutes)),
                _ => plain.more.push((sets, part.minutes)),
            }
        }
        plain
    }

    #[inline]
    fn best(&self, set: usize, mass: f64, row: &[f64]) -> f64 {
        let mut best = f64::INFINITY;
        for ([a, b], minutes) in &self.two {
            let value = minutes * mass + row[set & a] + row[set & b];
            best = if value < best { value } else { best };
        }
        for ([a, b, c], minutes) in &self.three {
            let value = minutes * mass + row[set & a] + row[set & b] + row[set & c];
            best = if value < best { value } else { best };
        }
        for (sets, minutes) in &self.more {
            let value = minutes * mass + sets.iter().map(|outcome| row[set & outcome]).sum::<f64>();
            best = if value < best { value } else { best };
        }
        for (sets, minutes) in &self.partial {
            if sets.iter().any(|outcome| set & outcome != 0 && set & outcome != set) {
                let value = minutes * mass + sets.iter().map(|outcome| row[set & outcome]).sum::<f64>();
                best = best.min(value);
            }
        }
        best
    }
}
