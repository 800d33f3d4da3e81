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

/// A lower bound for a state and, quickly, for the states behind it.
#[derive(Debug)]
pub struct Bound<S> {
    /// In mass: no order of work costs less from here.
    pub value: f64,
    /// Classes left, by local position.
    locals: SmallVec<[usize; 8]>,
    /// What each pair of local positions costs at least (row by row; zero where it may stay together).
    pairs: SmallVec<[f64; 64]>,
    /// Where causes are shared.
    shared: Option<Shared<S>>,
}

/// What the bound knows besides, where tests leave some cause several outcomes.
#[derive(Debug)]
struct Shared<S> {
    /// The cheapest charge to each pair.
    least: Vec<f64>,
    /// How many tests treat each pair differently.
    count: Vec<u16>,
    /// All tests that could still be used.
    views: Vec<View<S>>,
}

/// How a test treats the classes left.
#[derive(Debug)]
struct View<S> {
    step: usize,
    /// For each local position the outcomes that it may take.
    outcomes: SmallVec<[S; 8]>,
    /// For each local position its charge to a pair.
    charge: SmallVec<[f64; 8]>,
    /// It will be done wherever it can tell something.
    firm: bool,
}

/// What is gathered test by test.
struct Gathered<S> {
    left: S,
    locals: SmallVec<[usize; 8]>,
    weights: SmallVec<[f64; 8]>,
    pairs: SmallVec<[f64; 64]>,
    /// Per local position the classes that some test treats differently, and those that some test surely parts from it.
    told: SmallVec<[S; 8]>,
    apart: SmallVec<[S; 8]>,
}

impl<S: Bits> Bound<S> {
    /// Works out the bound from the tests that could still be used.
    pub fn new(space: &Space<S>, state: State<S>) -> Bound<S> {
        let mut all = Gathered::new(space, state);
        let (mut least, mut width, mut gaps) = (f64::INFINITY, 2, false);
        let useful = space.useful_in(state);
        let shared = useful.members().any(|step| space.steps[step].shared);
        let mut views = Vec::new();
        for step in useful.members() {
            let part = &space.steps[step];
            least = least.min(part.minutes);
            width = width.max(part.outcomes.iter().filter(|outcome| outcome.meets(state.left)).count());
            let firm = !(space.give_up && part.depends());
            if part.partition && !shared {
                all.part(part, firm);
                continue;
            }
            let view = View::new(part, step, &all, firm);
            gaps |= part.gaps && view.outcomes.contains(&S::NONE);
            all.fold(&view);
            if shared {
                views.push(view);
            }
        }
        let all_apart = !gaps
            && all
                .apart
                .iter()
                .zip(&all.locals)
                .all(|(apart, &class)| (state.left & !S::first(class + 1)).is_within(*apart));
        let count = all.locals.len();
        let Gathered { locals, weights, mut pairs, told, .. } = all;
        for (x, told) in told.iter().enumerate() {
            for (y, pair) in pairs[x * count..(x + 1) * count].iter_mut().enumerate().skip(x + 1) {
                if !told.has(locals[y]) {
                    *pair = 0.0;
                }
            }
        }
        let shared = shared.then(|| {
            let shared = Shared::new(&pairs, views);
            // a test that rules both out may end a pair's way early
            if !space.give_up && !gaps {
                shared.raise(&mut pairs);
            }
            shared
        });
        let mut value = pairs.iter().filter(|pair| pair.is_finite()).sum();
        if all_apart && least.is_finite() {
            value = f64::max(value, least * huffman(&weights, width));
        }
        Bound { value, locals, pairs, shared }
    }

    /// What the pairs within `left` cost at least, behind a step.
    pub fn within(&self, left: S, step: usize, share: &[f64]) -> f64 {
        let count = self.locals.len();
        let inside: SmallVec<[usize; 16]> = (0..count).filter(|&local| left.has(self.locals[local])).collect();
        let view = self
            .shared
            .as_ref()
            .and_then(|shared| shared.views.iter().find(|view| view.step == step).map(|view| (shared, view)));
        let whole = inside.iter().all(|&x| share[self.locals[x]] >= 1.0);
        let mut sum = 0.0;
        for (index, &x) in inside.iter().enumerate() {
            let row = &self.pairs[x * count..(x + 1) * count];
            if whole && view.is_none() {
                inside[index + 1..].iter().for_each(|&y| sum += row[y]);
                continue;
            }
            for &y in &inside[index + 1..] {
                let at = x * count + y;
                let kept = share[self.locals[x]].min(share[self.locals[y]]);
                match view {
                    Some((shared, view)) if view.outcomes[x] != view.outcomes[y] => {
                        // the step itself no longer parts them
                        sum += if shared.count[at] > 1 && row[y] > 0.0 { shared.least[at] * kept } else { 0.0 };
                    }
                    _ => sum += row[y] * kept,
                }
            }
        }
        sum
    }
}

impl<S: Bits> View<S> {
    /// The outcomes and charges of one test among the classes left.
    fn new(part: &Part<S>, step: usize, all: &Gathered<S>, firm: bool) -> View<S> {
        let outcomes: SmallVec<[S; 8]> = all.locals.iter().map(|&class| part.shows[class]).collect();
        let charge = (0..all.locals.len())
            .map(|x| {
                let others = outcomes.iter().filter(|&&other| ends(other, outcomes[x])).count();
                let itself = usize::from(outcomes[x].is_none());
                part.minutes * all.weights[x] / (others - itself).max(1) as f64
            })
            .collect();
        View { step, outcomes, charge, firm }
    }
}

impl<S: Bits> Gathered<S> {
    fn new(space: &Space<S>, state: State<S>) -> Self {
        let locals: SmallVec<[usize; 8]> = state.left.members().collect();
        let count = locals.len();
        Gathered {
            left: state.left,
            weights: space.weights(state).collect(),
            pairs: SmallVec::from_elem(f64::INFINITY, count * count),
            told: SmallVec::from_elem(S::NONE, count),
            apart: SmallVec::from_elem(S::NONE, count),
            locals,
        }
    }

    /// A test that leaves each class just one outcome: the pairs across its outcomes.
    fn part(&mut self, part: &Part<S>, firm: bool) {
        let count = self.locals.len();
        let side = |x: usize| part.shows[self.locals[x]];
        let sides: SmallVec<[S; 16]> = (0..count).map(side).collect();
        let mut charge: SmallVec<[f64; 16]> = SmallVec::with_capacity(count);
        for x in 0..count {
            let others = self.left & !part.outcomes[sides[x].lowest()];
            charge.push(part.minutes * self.weights[x] / others.count().max(1) as f64);
            if firm {
                self.told[x] |= others;
                self.apart[x] |= others;
            }
        }
        for x in 0..count {
            let (own, cost) = (sides[x], charge[x]);
            let row = &mut self.pairs[x * count + x + 1..(x + 1) * count];
            for ((pair, other), more) in row.iter_mut().zip(&sides[x + 1..]).zip(&charge[x + 1..]) {
                let both = if *other == own { f64::INFINITY } else { cost + more };
                *pair = if both < *pair { both } else { *pair };
            }
        }
    }

    /// Lowers each pair to a test's charge; marks those that it treats differently, and those that it surely parts.
    fn fold(&mut self, view: &View<S>) {
        let count = self.locals.len();
        for x in 0..count {
            let (own, charge) = (view.outcomes[x], view.charge[x]);
            let row = &mut self.pairs[x * count..(x + 1) * count];
            for (y, pair) in row.iter_mut().enumerate().skip(x + 1) {
                let other = view.outcomes[y];
                let cost = if ends(own, other) { charge + view.charge[y] } else { f64::INFINITY };
                *pair = pair.min(cost);
                let there = S::one(self.locals[y]);
                self.told[x] |= if view.firm && own != other { there } else { S::NONE };
                self.apart[x] |= if view.firm && !own.meets(other) { there } else { S::NONE };
            }
        }
    }
}

/// Whether a test may end a pair's way together: it treats them differently, or rules both out whatever it shows.
fn ends<S: Bits>(one: S, other: S) -> bool {
    one != other || one.is_none()
}

impl<S: Bits> Shared<S> {
    fn new(pairs: &[f64], views: Vec<View<S>>) -> Shared<S> {
        let mut count = vec![0_u16; pairs.len()];
        for view in views.iter().filter(|view| view.firm) {
            let size = view.outcomes.len();
            for x in 0..size {
                for y in x + 1..size {
                    let told = u16::from(view.outcomes[x] != view.outcomes[y]);
                    count[x * size + y] = count[x * size + y].saturating_add(told);
                }
            }
        }
        Shared { least: pairs.to_vec(), count, views }
    }

    /// Adds what a pair costs after the first test that treats it differently.
    fn raise(&self, pairs: &mut [f64]) {
        let size = self.views.first().map_or(0, |view| view.outcomes.len());
        for x in 0..size {
            for y in x + 1..size {
                let at = x * size + y;
                if pairs[at] > 0.0 && pairs[at].is_finite() {
                    pairs[at] = pairs[at].max(self.game(x, y));
                }
            }
        }
    }

    /// The least that a pair costs, in whatever order it meets the tests that treat it differently: until one surely
    /// parts it, or all are done.
    fn game(&self, x: usize, y: usize) -> f64 {
        let tests = self.views.iter().filter(|view| ends(view.outcomes[x], view.outcomes[y]));
        // each test's charges, and what part of each weight is still together after it
        let tests: SmallVec<[[f64; 4]; 8]> = tests
            .map(|view| {
                let (own, other) = (view.outcomes[x], view.outcomes[y]);
                let both = (own & other).count() as f64;
                let part = |set: S| both / set.count().max(1) as f64;
                [view.charge[x], view.charge[y], part(own), part(other)]
            })
            .collect();
        let charge = |test: &[f64; 4]| test[0] + test[1];
        let parts = |test: &&[f64; 4]| test[2] + test[3] <= 0.0;
        let part = tests.iter().filter(parts).map(charge).fold(f64::INFINITY, f64::min);
        if part.is_finite() {
            // one that parts them at once; or another first, and one that parts them when all others are done
            let others = || tests.iter().filter(|test| !parts(test));
            let kept = others().fold([1.0, 1.0], |kept, test| [kept[0] * test[2], kept[1] * test[3]]);
            let last = tests.iter().filter(parts).map(|test| test[0] * kept[0] + test[1] * kept[1]);
            let last = last.fold(f64::INFINITY, f64::min);
            return others().map(|test| charge(test) + last).fold(part, f64::min);
        }
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
            first = first.min(charge(test) - last);
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
