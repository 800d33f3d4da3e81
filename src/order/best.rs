//! In: a [`Problem`]. Out: [`Best`], the order of work with the least expected minutes, or an estimate with its bound.

use crate::order::bits::{Bits, Wide};
use crate::order::dense::Dense;
use crate::order::grow::{Grown, grow};
use crate::order::guess::Guess;
use crate::order::outline::Outline;
use crate::order::problem::{Problem, Set, Unfit};
use crate::order::search::Search;
use crate::order::settle::settle;
use crate::order::space::{Options, Space, State};
use crate::order::tree::{Figures, Tree};

/// How far to go for a proof. The counts are of pairs of a state and a step: the same on every machine.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// For the rules of thumb.
    pub guess: u64,
    /// For the search.
    pub search: u64,
    /// For the search, where the table of all states can't follow it.
    pub long_search: u64,
    /// Whether the table of all states may follow: up to 128 MB.
    pub table: bool,
    /// The most nodes of the tree, about. An order with more is cut short, and so an estimate.
    pub nodes: usize,
}

/// What `order` allows itself.
pub const THOROUGH: Effort =
    Effort { guess: 200_000, search: 100_000, long_search: 3_000_000, table: true, nodes: 100_000 };

/// What the rule `slow-order` allows itself: enough to find a faster order, not always to prove it the best.
pub const LIGHT: Effort = Effort { guess: 5_000, search: 5_000, long_search: 5_000, table: false, nodes: 4_000 };

/// The best order of work.
#[derive(Clone, Debug, PartialEq)]
pub struct Best {
    /// The order.
    pub tree: Tree,
    /// What it costs and how far it isolates.
    pub figures: Figures,
    /// Proven to be the best; else an estimate.
    pub exact: bool,
    /// No order takes fewer minutes than this; the minutes themselves where exact.
    pub bound: f64,
}

/// The same search in the narrowest sets that hold so many causes or steps.
macro_rules! narrowest {
    ($size:expr, $search:ident($($with:expr),+), else $too_large:expr) => {
        match $size {
            ..=32 => $search::<u32>($($with),+),
            33..=64 => $search::<u64>($($with),+),
            65..=128 => $search::<u128>($($with),+),
            129..=256 => $search::<Wide<4>>($($with),+),
            257..=Set::SIZE => $search::<Set>($($with),+),
            _ => Err($too_large),
        }
    };
}

/// Finds the best order of work.
pub fn best(problem: &Problem, effort: Effort) -> Result<Best, Unfit> {
    problem.fit()?;
    let outline = Outline::new(problem);
    narrowest!(outline.size, sized(problem, &outline, effort), else too_large(problem, &outline))
}

/// What of it no set can hold.
fn too_large(problem: &Problem, outline: &Outline) -> Unfit {
    let outcomes = outline.kept.iter().map(|&step| problem.steps[step].outcomes.len()).max();
    outcomes.filter(|count| *count > Set::SIZE).map_or(Unfit::TooInvolved, Unfit::TooManyOutcomes)
}

fn sized<S: Bits>(problem: &Problem, outline: &Outline, effort: Effort) -> Result<Best, Unfit> {
    let space = Space::<S>::new(problem, outline, false);
    if let Some(best) = solve(problem, &space, effort) {
        return Ok(best);
    }
    // some reading can't be taken in time on any way: what it could have told is given up
    let space = Space::<S>::new(problem, outline, true);
    solve(problem, &space, effort).ok_or(Unfit::TooInvolved)
}

/// The best order if it takes at most so many minutes; nothing where it takes more.
pub fn best_within(problem: &Problem, minutes: f64, effort: Effort) -> Result<Option<Best>, Unfit> {
    problem.fit()?;
    let outline = Outline::new(problem);
    narrowest!(outline.size, within(problem, &outline, minutes, effort), else too_large(problem, &outline))
}

fn within<S: Bits>(problem: &Problem, outline: &Outline, minutes: f64, effort: Effort) -> Result<Option<Best>, Unfit> {
    let space = Space::<S>::new(problem, outline, false);
    let limit = above(minutes);
    let mut search = Search::new(&space, effort.search);
    let value = search.solve(space.start(), limit);
    if !search.stopped && value < limit {
        let grown = grow(&space, &mut |state| search.choose(state), effort.nodes);
        return Ok(Some(proven(problem, grown, value)).filter(|best| best.figures.minutes <= minutes));
    }
    // that no order is faster counts only where one ends at all
    if !search.stopped && value.is_finite() && space.ends(space.start(), effort.search as usize) == Some(true) {
        return Ok(None);
    }
    sized::<S>(problem, outline, effort).map(|best| Some(best).filter(|best| best.figures.minutes <= minutes))
}

/// A little above, so that a search below it finds what takes just so many minutes, and ties fall as they should.
fn above(minutes: f64) -> f64 {
    minutes * (1.0 + 1e-9) + f64::MIN_POSITIVE
}

/// A little below, so that what raised the minutes for the sake of ties is taken off.
fn below(minutes: f64) -> f64 {
    minutes / (1.0 + 1e-9)
}

/// None where every order runs into a dead end.
fn solve<S: Bits>(problem: &Problem, space: &Space<S>, effort: Effort) -> Option<Best> {
    let start = space.start();
    let mut guess = Guess::new(space, effort.guess);
    let limit = above(f64::min(guess.near(start), guess.far(start).0));
    let allowance = if effort.table && Dense::fits(space) { effort.search } else { effort.long_search };
    // no order that ends was found: the search must find one, or show that there is none
    let allowance = if limit.is_infinite() { allowance.max(1_000_000) } else { allowance };
    let mut search = Search::new(space, allowance);
    let value = search.solve(start, limit);
    if !search.stopped && value.is_infinite() {
        return None;
    }
    // what the rules of thumb did not follow to its end may be a dead end: then their minutes are no limit
    if !search.stopped && value < limit {
        return Some(proven(problem, grow(space, &mut |state| search.choose(state), effort.nodes), value));
    }
    if effort.table && Dense::fits(space) {
        drop(search);
        drop(guess);
        let dense = Dense::new(space);
        let mut choose = |state| least(space, state, |next| dense.value(next));
        return Some(proven(problem, grow(space, &mut choose, effort.nodes), dense.value(start)));
    }
    let floor = search.floor(start);
    drop(search);
    let nodes = effort.nodes.min(nodes(space));
    let far = grow(space, &mut |state| guess.far_step(state), nodes);
    let near = grow(space, &mut |state| guess.near_step(state), nodes);
    let estimates = [far, near].into_iter().filter(|grown| !grown.dead).map(|grown| estimate(problem, grown, floor));
    estimates.min_by(|a, b| a.figures.minutes.total_cmp(&b.figures.minutes))
}

/// How large a tree the rules of thumb can make in a fraction of a second: each node looks at every test and every class.
fn nodes<S>(space: &Space<S>) -> usize {
    let looks = space.steps.len() * space.classes.len();
    (50_000_000 / looks.max(1)).max(4 * space.classes.len())
}

/// An order that takes `value` minutes and is the best; an estimate where its tree had to be cut short.
fn proven(problem: &Problem, grown: Grown, value: f64) -> Best {
    if !grown.whole {
        return estimate(problem, grown, value);
    }
    let tree = settle(problem, grown.tree);
    let figures = tree.figures(problem);
    Best { bound: figures.minutes, tree, figures, exact: true }
}

fn estimate(problem: &Problem, grown: Grown, floor: f64) -> Best {
    let tree = settle(problem, grown.tree);
    let figures = tree.figures(problem);
    Best { bound: below(floor).min(figures.minutes), tree, figures, exact: false }
}

/// The step with the least value, by the values of all states.
fn least<S: Bits>(space: &Space<S>, state: State<S>, value: impl Fn(State<S>) -> f64) -> Option<usize> {
    let Options::Moves(moves) = space.options(state) else { return None };
    let mass = space.mass(state);
    let mut best = (f64::INFINITY, None);
    for step in moves.members() {
        let go = space.go(state, step);
        let behind: f64 = go.next.iter().map(|(_, next, factor)| factor * value(*next)).sum();
        if go.minutes * mass + behind < best.0 {
            best = (go.minutes * mass + behind, Some(step));
        }
    }
    best.1
}
