//! In: a [`Space`] and a state. Out: [`Bound`], minutes that no order of work can beat.
//!
//! Two bounds, and the larger counts.
//!
//! *Pairs.* Two causes that some test treats differently stay together only until that test is done, or until another
//! parts them. A test of `c` minutes costs `c` times the weight of every class that comes to it; each class hands its
//! share of that, in equal parts, to the pairs that it is in with those that the test treats differently. So a pair
//! costs at least the cheapest of such charges, and pairs add up. For checks of single causes this is the exact sum of
//! the share-over-minutes rule, but for the cause that is inferred in the end. Where a test may show the same for both,
//! they go on together with what is left of their weight, to the next test that treats them differently.
//!
//! *Huffman.* Where all pairs can be told apart, the number of tests is at least the length of the best code
//! (Huffman 1952), each at the least minutes; with as many letters as the widest test has outcomes.

use crate::order::bits::Bits;
use crate::order::space::{Part, Space, State};
use smallvec::SmallVec;

/// A lower bound for a state and, quickly, for the states behind it. One can be worked out for one state after the other.
#[derive(Clone, Debug, Default)]
pub struct Bound<S> {
    /// In mass: no order of work costs less from here.
    pub value: f64,
    /// The mass of the state.
    pub mass: f64,
    left: S,
    /// Classes left, by local position, and their weights.
    locals: Vec<usize>,
    weights: Vec<f64>,
    /// What each pair of local positions costs at least (row by row; zero where it may stay together).
    pairs: Vec<f64>,
    /// Some test leaves some cause several outcomes.
    shared: bool,
    /// There, the cheapest charge to each pair.
    least: Vec<f64>,
    /// Per local position, what the tests make of the other classes.
    told: Vec<Told<S>>,
    /// The tests that could still be used, and for each its charges by local position.
    tests: Vec<usize>,
    charges: Vec<f64>,
}

/// Of the classes left, those that some test treats differently from one.
#[derive(Clone, Copy, Debug, Default)]
struct Told<S> {
    any: S,
    /// More than one test does.
    twice: S,
    /// Some test surely parts them from it.
    apart: S,
    /// Some test may leave them together though it treats them differently.
    blurred: S,
}

impl<S: Bits> Bound<S> {
    /// Works out the bound from the tests that could still be used.
    pub fn new(space: &Space<S>, state: State<S>) -> Bound<S> {
        let mut bound = Bound::default();
        bound.work_out(space, state, f64::INFINITY);
        bound
    }

    /// The same in place, and no further than to show that the state costs at least the limit: the cheapest way to show it comes first.
    pub fn work_out(&mut self, space: &Space<S>, state: State<S>, limit: f64) {
        self.clear(space, state);
        let (mut least, mut width, mut gaps) = (f64::INFINITY, 2, false);
        for step in space.useful_in(state).members() {
            let part = &space.steps[step];
            least = least.min(part.minutes);
            if part.outcomes.len() > width {
                width = width.max(part.outcomes.iter().filter(|outcome| outcome.meets(state.left)).count());
            }
            gaps |= part.gaps && self.locals.iter().any(|&class| part.shows[class].is_none());
            self.shared |= part.shared;
            self.take(space, step);
        }
        self.forget_untold();
        self.add_up();
        let parted = |(told, &class): (&Told<S>, &usize)| (self.left & !S::first(class + 1)).is_within(told.apart);
        if self.value < limit && !gaps && least.is_finite() && self.told.iter().zip(&self.locals).all(parted) {
            self.value = f64::max(self.value, least * huffman(&self.weights, width));
        }
        if self.shared && self.value < limit {
            self.least.clone_from(&self.pairs);
            // a test that rules both out may end a pair's way early
            if !space.give_up && !gaps {
                let value = self.value;
                self.raise(space);
                self.add_up();
                self.value = self.value.max(value);
            }
        }
    }

    /// Pairs add up.
    fn add_up(&mut self) {
        self.value = self.pairs.iter().filter(|pair| pair.is_finite()).sum();
    }

    fn clear(&mut self, space: &Space<S>, state: State<S>) {
        self.left = state.left;
        self.locals.clear();
        self.locals.extend(state.left.members());
        space.weights_into(state, &mut self.weights);
        self.mass = self.weights.iter().sum();
        let count = self.locals.len();
        self.pairs.clear();
        self.pairs.resize(count * count, f64::INFINITY);
        self.told.clear();
        self.told.resize(count, Told::default());
        self.shared = false;
        self.tests.clear();
        self.charges.clear();
    }

    /// What the pairs within `left` cost at least, behind a step.
    pub fn within(&self, left: S, part: &Part<S>) -> f64 {
        let count = self.locals.len();
        let inside: SmallVec<[usize; 16]> = (0..count).filter(|&local| left.has(self.locals[local])).collect();
        let mut sum = 0.0;
        if !part.shared {
            for (index, &x) in inside.iter().enumerate() {
                let row = &self.pairs[x * count..(x + 1) * count];
                inside[index + 1..].iter().for_each(|&y| sum += row[y]);
            }
            return sum;
        }
        for (index, &x) in inside.iter().enumerate() {
            let (class, row) = (self.locals[x], x * count);
            for &y in &inside[index + 1..] {
                let other = self.locals[y];
                let kept = part.share[class].min(part.share[other]);
                if part.others[class].has(other) {
                    // the step itself no longer parts them
                    let again = self.shared && self.told[x].twice.has(other) && self.pairs[row + y] > 0.0;
                    sum += if again { self.least[row + y] * kept } else { 0.0 };
                } else {
                    sum += self.pairs[row + y] * kept;
                }
            }
        }
        sum
    }

    /// Lowers each pair to a test's charge; marks those that it treats differently, and those that it surely parts.
    fn take(&mut self, space: &Space<S>, step: usize) {
        let part = &space.steps[step];
        let from = self.charges.len();
        self.tests.push(step);
        let charge = |(&class, &weight): (&usize, &f64)| {
            let others = part.others[class] & self.left & !S::one(class);
            part.minutes * weight / others.count().max(1) as f64
        };
        self.charges.extend(self.locals.iter().zip(&self.weights).map(charge));
        // it will be done wherever it can tell something
        if !(space.give_up && part.depends()) {
            for (all, &class) in self.told.iter_mut().zip(&self.locals) {
                // two that no outcome leaves are not treated differently, though the test ends their way
                let (told, apart) = (part.differs[class] & self.left, part.apart[class] & self.left);
                *all = Told {
                    any: all.any | told,
                    twice: all.twice | all.any & told,
                    apart: all.apart | apart,
                    blurred: all.blurred | told & !apart,
                };
            }
        }
        let (count, charges) = (self.locals.len(), &self.charges[from..]);
        let columns = || self.locals.iter().zip(charges);
        for (x, ((&class, charge), row)) in columns().zip(self.pairs.chunks_exact_mut(count)).enumerate() {
            let others = part.others[class];
            for (pair, (&other, its)) in row.iter_mut().zip(columns()).skip(x + 1) {
                let both = if others.has(other) { charge + its } else { f64::INFINITY };
                *pair = if both < *pair { both } else { *pair };
            }
        }
    }

    /// A pair that no test treats differently costs nothing.
    fn forget_untold(&mut self) {
        let count = self.locals.len();
        for (x, (told, row)) in self.told.iter().zip(self.pairs.chunks_exact_mut(count.max(1))).enumerate() {
            for (pair, &other) in row.iter_mut().zip(&self.locals).skip(x + 1) {
                *pair = if told.any.has(other) { *pair } else { 0.0 };
            }
        }
    }

    /// Adds what a pair costs after the first test that treats it differently.
    fn raise(&mut self, space: &Space<S>) {
        let count = self.locals.len();
        for x in 0..count {
            for y in x + 1..count {
                let at = x * count + y;
                if self.told[x].blurred.has(self.locals[y]) && self.pairs[at] > 0.0 && self.pairs[at].is_finite() {
                    self.pairs[at] = self.pairs[at].max(self.game(space, x, y));
                }
            }
        }
    }

    /// The least that a pair costs, in whatever order it meets the tests that treat it differently: until one surely
    /// parts it, or all are done.
    fn game(&self, space: &Space<S>, x: usize, y: usize) -> f64 {
        let (count, one, other) = (self.locals.len(), self.locals[x], self.locals[y]);
        let tests = || {
            let charges = self.charges.chunks_exact(count).map(|charges| [charges[x], charges[y]]);
            self.tests
                .iter()
                .map(|&step| &space.steps[step])
                .zip(charges)
                .filter(|(part, _)| part.others[one].has(other))
        };
        let parts = |part: &Part<S>| part.apart[one].has(other);
        // what part of each weight is still together after a test, and after all that may leave them together
        let kept = |part: &Part<S>| {
            let both = (part.shows[one] & part.shows[other]).count() as f64;
            [both * part.share[one], both * part.share[other]]
        };
        let (mut cheapest, mut first, mut all) = (f64::INFINITY, f64::INFINITY, [1.0, 1.0]);
        for (part, charge) in tests() {
            if parts(part) {
                cheapest = cheapest.min(charge[0] + charge[1]);
            } else {
                let kept = kept(part);
                all = [all[0] * kept[0], all[1] * kept[1]];
                first = first.min(charge[0] + charge[1]);
            }
        }
        if cheapest.is_finite() {
            // one that parts them at once; or another first, and one that parts them when all others are done
            let last =
                tests().filter(|(part, _)| parts(part)).map(|(_, charge)| charge[0] * all[0] + charge[1] * all[1]);
            return cheapest.min(first + last.fold(f64::INFINITY, f64::min));
        }
        let tests: SmallVec<[[f64; 4]; 8]> = tests()
            .map(|(part, charge)| {
                let kept = kept(part);
                [charge[0], charge[1], kept[0], kept[1]]
            })
            .collect();
        // all must be done: each at the price after all others, and one of them, the first, at its full price
        // what is kept by the tests behind each; what is kept by those before it grows as we go
        let mut behind: SmallVec<[[f64; 2]; 8]> = SmallVec::from_elem([1.0, 1.0], tests.len());
        for at in (1..tests.len()).rev() {
            behind[at - 1] = [behind[at][0] * tests[at][2], behind[at][1] * tests[at][3]];
        }
        let (mut sum, mut first, mut before) = (0.0, f64::INFINITY, [1.0, 1.0]);
        for (test, behind) in tests.iter().zip(behind) {
            let last = test[0] * before[0] * behind[0] + test[1] * before[1] * behind[1];
            before = [before[0] * test[2], before[1] * test[3]];
            sum += last;
            first = first.min(test[0] + test[1] - last);
        }
        sum + first
    }
}

/// The weighted length of the best code with `width` letters.
pub fn huffman(weights: &[f64], width: usize) -> f64 {
    let mut queue: Vec<f64> = weights.to_vec();
    // the first merge may be smaller, so that all later ones are full
    while queue.len() > 1 && !(queue.len() - 1).is_multiple_of(width - 1) {
        queue.push(0.0);
    }
    queue.sort_by(f64::total_cmp);
    let mut merged: Vec<f64> = Vec::with_capacity(queue.len());
    let (mut single, mut double, mut sum) = (0, 0, 0.0);
    while queue.len() - single + merged.len() - double > 1 {
        let mut weight = 0.0;
        for _ in 0..width {
            let from_queue = match (queue.get(single), merged.get(double)) {
                (Some(one), Some(two)) => one <= two,
                (one, _) => one.is_some(),
            };
            let source = if from_queue { &mut single } else { &mut double };
            weight += if from_queue { queue[*source] } else { merged[*source] };
            *source += 1;
        }
        sum += weight;
        merged.push(weight);
    }
    sum
}
