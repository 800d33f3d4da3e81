//! In: a [`Space`] and a state. Out: [`Bound`], minutes that no order of work can beat.
//!
//! Two bounds, and the larger counts.
//!
//! *Pairs.* Two causes that can be told apart part somewhere. A test of `c` minutes costs `c` times the weight of every
//! class that comes to it; each class hands its share of that, in equal parts, to the pairs that it can leave there. So
//! a pair costs at least the cheapest of such charges, wherever it parts, and pairs add up. For checks of single causes
//! this is the exact sum of the share-over-minutes rule, but for the cause that is inferred in the end.
//!
//! *Huffman.* Where all pairs can be told apart, the number of tests is at least the length of the best code
//! (Huffman 1952), each at the least minutes; with as many letters as the widest test has outcomes.

use crate::order::problem::{Set, members};
use crate::order::space::{Space, State};

/// A lower bound for a state and, quickly, for the states behind it.
#[derive(Debug)]
pub struct Bound {
    /// In mass: no order of work costs less from here.
    pub value: f64,
    /// Classes left, by local position.
    pub locals: Vec<usize>,
    /// What each pair of local positions costs at least (row by row; zero where it may stay together).
    pairs: Vec<f64>,
}

/// How a test treats the classes left.
struct View {
    /// For each local position the outcomes that it may take.
    outcomes: Vec<Set>,
    /// For each local position its charge to a pair.
    charge: Vec<f64>,
    firm: bool,
}

impl Bound {
    /// Works out the bound from the tests that could still be used.
    pub fn new(space: &Space, state: State) -> Bound {
        let locals: Vec<usize> = members(state.left).collect();
        let weights: Vec<f64> = locals.iter().map(|&class| space.weight(class, state.memory)).collect();
        let count = locals.len();
        let mut pairs = vec![f64::INFINITY; count * count];
        let mut apart = vec![0; count];
        let (mut least, mut width, mut gaps) = (f64::INFINITY, 2, false);
        for step in (0..space.steps.len()).filter(|&step| space.useful(step, state)) {
            let view = view(space, step, &locals, &weights);
            least = least.min(space.steps[step].minutes);
            width = width.max(space.steps[step].outcomes.iter().filter(|&outcome| outcome & state.left != 0).count());
            gaps |= view.outcomes.contains(&0);
            fold(&view, count, &mut pairs, &mut apart);
        }
        let mut value = 0.0;
        let mut all_apart = !gaps;
        for (x, apart) in apart.iter().enumerate() {
            for (y, pair) in pairs[x * count..(x + 1) * count].iter_mut().enumerate().skip(x + 1) {
                if apart >> y & 1 == 1 {
                    value += *pair;
                } else {
                    *pair = 0.0;
                    all_apart = false;
                }
            }
        }
        if all_apart && least.is_finite() {
            value = value.max(least * huffman(&weights, width));
        }
        Bound { value, locals, pairs }
    }

    /// What the pairs within `left` cost at least, when each class has kept that share of its weight.
    pub fn within(&self, left: Set, share: Option<&[f64]>) -> f64 {
        let count = self.locals.len();
        let inside: Vec<usize> = (0..count).filter(|&local| left >> self.locals[local] & 1 == 1).collect();
        let mut sum = 0.0;
        for (index, &x) in inside.iter().enumerate() {
            let row = &self.pairs[x * count..(x + 1) * count];
            match share {
                None => inside[index + 1..].iter().for_each(|&y| sum += row[y]),
                Some(share) => {
                    let own = share[self.locals[x]];
                    inside[index + 1..].iter().for_each(|&y| sum += row[y] * own.min(share[self.locals[y]]));
                }
            }
        }
        sum
    }
}

/// The outcomes and charges of one test among the classes left.
fn view(space: &Space, step: usize, locals: &[usize], weights: &[f64]) -> View {
    let part = &space.steps[step];
    let outcomes: Vec<Set> = locals
        .iter()
        .map(|&class| {
            let leaves = |(bit, outcome): (usize, &Set)| (outcome >> class & 1) << bit;
            part.outcomes.iter().enumerate().map(leaves).fold(0, |set, bit| set | bit)
        })
        .collect();
    let charge = (0..locals.len())
        .map(|x| {
            let alike = outcomes.iter().filter(|&&other| alike(outcomes[x], other)).count();
            part.minutes * weights[x] / (locals.len() - alike.max(1)).max(1) as f64
        })
        .collect();
    View { outcomes, charge, firm: !(space.give_up && part.depends()) }
}

/// Two classes that the test surely sends the same way.
fn alike(one: Set, other: Set) -> bool {
    one == other && one.is_power_of_two()
}

/// Lowers each pair to this test's charge, and marks the pairs that it surely parts.
fn fold(view: &View, count: usize, pairs: &mut [f64], apart: &mut [Set]) {
    for x in 0..count {
        let (own, charge) = (view.outcomes[x], view.charge[x]);
        let row = &mut pairs[x * count..(x + 1) * count];
        for (y, pair) in row.iter_mut().enumerate().skip(x + 1) {
            let other = view.outcomes[y];
            let cost = if alike(own, other) { f64::INFINITY } else { charge + view.charge[y] };
            *pair = pair.min(cost);
            apart[x] |= Set::from(view.firm && own & other == 0 && own | other != 0) << y;
        }
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
