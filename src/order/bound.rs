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

use crate::order::problem::{Set, first, members};
use crate::order::space::{Space, State};
use smallvec::SmallVec;

/// A lower bound for a state and, quickly, for the states behind it.
#[derive(Debug)]
pub struct Bound {
    /// In mass: no order of work costs less from here.
    pub value: f64,
    /// Classes left, by local position.
    locals: SmallVec<[usize; 8]>,
    /// What each pair of local positions costs at least (row by row; zero where it may stay together).
    pairs: SmallVec<[f64; 64]>,
    /// Where causes are shared.
    shared: Option<Shared>,
}

/// What the bound knows besides, where tests leave some cause several outcomes.
#[derive(Debug)]
struct Shared {
    /// The cheapest charge to each pair.
    least: Vec<f64>,
    /// How many tests treat each pair differently.
    count: Vec<u8>,
    /// Those tests that leave some cause several outcomes.
    views: Vec<View>,
}

/// How a test treats the classes left.
#[derive(Debug)]
struct View {
    step: usize,
    /// For each local position the outcomes that it may take.
    outcomes: SmallVec<[Set; 8]>,
    /// For each local position its charge to a pair.
    charge: SmallVec<[f64; 8]>,
    /// It will be done wherever it can tell something.
    firm: bool,
}

impl Bound {
    /// Works out the bound from the tests that could still be used.
    pub fn new(space: &Space, state: State) -> Bound {
        let locals: SmallVec<[usize; 8]> = members(state.left).collect();
        let weights: SmallVec<[f64; 8]> = space.weights(state).collect();
        let count = locals.len();
        let mut pairs: SmallVec<[f64; 64]> = SmallVec::from_elem(f64::INFINITY, count * count);
        let mut told: SmallVec<[Set; 16]> = SmallVec::from_elem(0, count);
        let mut apart = told.clone();
        let (mut least, mut width, mut gaps) = (f64::INFINITY, 2, false);
        let useful = space.useful_in(state);
        let shared = members(useful).any(|step| space.steps[step].shared);
        let mut views = Vec::new();
        for step in members(useful) {
            let part = &space.steps[step];
            let minutes = part.minutes;
            let view = View::new(space, step, minutes, &locals, &weights);
            least = least.min(minutes);
            width = width.max(part.outcomes.iter().filter(|&outcome| outcome & state.left != 0).count());
            gaps |= part.gaps && view.outcomes.contains(&0);
            view.fold(&mut pairs, &mut told, &mut apart);
            if shared {
                views.push(view);
            }
        }
        let all = first(count);
        let all_apart = !gaps && (0..count).all(|x| apart[x] | first(x + 1) == all);
        for (x, told) in told.iter().enumerate() {
            for (y, pair) in pairs[x * count..(x + 1) * count].iter_mut().enumerate().skip(x + 1) {
                if told >> y & 1 == 0 {
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
    pub fn within(&self, left: Set, step: usize, share: &[f64]) -> f64 {
        let count = self.locals.len();
        let inside: SmallVec<[usize; 16]> = (0..count).filter(|&local| left >> self.locals[local] & 1 == 1).collect();
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

impl View {
    /// The outcomes and charges of one test among the classes left.
    fn new(space: &Space, step: usize, minutes: f64, locals: &[usize], weights: &[f64]) -> View {
        let part = &space.steps[step];
        let outcomes: SmallVec<[Set; 8]> = locals
            .iter()
            .map(|&class| {
                let leaves = |(bit, outcome): (usize, &Set)| (outcome >> class & 1) << bit;
                part.outcomes.iter().enumerate().map(leaves).fold(0, |set, bit| set | bit)
            })
            .collect();
        let charge = (0..locals.len())
            .map(|x| {
                let others = outcomes.iter().filter(|&&other| ends(other, outcomes[x])).count();
                let itself = usize::from(outcomes[x] == 0);
                minutes * weights[x] / (others - itself).max(1) as f64
            })
            .collect();
        View { step, outcomes, charge, firm: !(space.give_up && part.depends()) }
    }

    /// Lowers each pair to this test's charge; marks those that it treats differently, and those that it surely parts.
    fn fold(&self, pairs: &mut [f64], told: &mut [Set], apart: &mut [Set]) {
        let count = self.outcomes.len();
        for x in 0..count {
            let (own, charge) = (self.outcomes[x], self.charge[x]);
            let row = &mut pairs[x * count..(x + 1) * count];
            for (y, pair) in row.iter_mut().enumerate().skip(x + 1) {
                let other = self.outcomes[y];
                let cost = if ends(own, other) { charge + self.charge[y] } else { f64::INFINITY };
                *pair = pair.min(cost);
                told[x] |= Set::from(self.firm && own != other) << y;
                apart[x] |= Set::from(self.firm && own & other == 0) << y;
            }
        }
    }
}

/// Whether a test may end a pair's way together: it treats them differently, or rules both out whatever it shows.
fn ends(one: Set, other: Set) -> bool {
    one != other || one == 0
}

impl Shared {
    fn new(pairs: &[f64], views: Vec<View>) -> Shared {
        let mut count = vec![0_u8; pairs.len()];
        for view in views.iter().filter(|view| view.firm) {
            let size = view.outcomes.len();
            for x in 0..size {
                for y in x + 1..size {
                    let told = u8::from(view.outcomes[x] != view.outcomes[y]);
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
                let both = f64::from((own & other).count_ones());
                let part = |set: Set| both / f64::from(set.count_ones().max(1));
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
        let (mut sum, mut first) = (0.0, f64::INFINITY);
        for (index, test) in tests.iter().enumerate() {
            let (mut own, mut other) = (test[0], test[1]);
            for (_, before) in tests.iter().enumerate().filter(|(before, _)| *before != index) {
                own *= before[2];
                other *= before[3];
            }
            sum += own + other;
            first = first.min(charge(test) - own - other);
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
