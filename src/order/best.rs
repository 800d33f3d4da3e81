//! In: a [`Problem`]. Out: [`Best`], the order of work with the least expected minutes, or an estimate with its bound.

use crate::order::dense::Dense;
use crate::order::guess::Guess;
use crate::order::problem::{Problem, Unfit, members};
use crate::order::search::Search;
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
}

/// What `order` allows itself.
pub const THOROUGH: Effort = Effort { guess: 200_000, search: 100_000, long_search: 3_000_000, table: true };

/// What the rule `slow-order` allows itself: enough to find a faster order, not always to prove it the best.
pub const LIGHT: Effort = Effort { guess: 5_000, search: 5_000, long_search: 5_000, table: false };

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

/// Finds the best order of work.
pub fn best(problem: &Problem, effort: Effort) -> Result<Best, Unfit> {
    problem.fit()?;
    let space = Space::new(problem, false).ok_or(Unfit::TooInvolved)?;
    if let Some(best) = solve(problem, &space, effort) {
        return Ok(best);
    }
    // some reading can't be taken in time on any way: what it could have told is given up
    let space = Space::new(problem, true).ok_or(Unfit::TooInvolved)?;
    solve(problem, &space, effort).ok_or(Unfit::TooInvolved)
}

/// The best order if it takes at most so many minutes; nothing where it takes more.
pub fn best_within(problem: &Problem, minutes: f64, effort: Effort) -> Result<Option<Best>, Unfit> {
    problem.fit()?;
    let space = Space::new(problem, false).ok_or(Unfit::TooInvolved)?;
    let limit = above(minutes);
    let mut search = Search::new(&space, effort.search);
    let value = search.solve(space.start(), limit);
    if !search.stopped && value < limit {
        return Ok(Some(proven(problem, grow(&space, space.start(), &mut |state| search.choose(state)))));
    }
    // that no order is faster counts only where one ends at all
    if !search.stopped && value.is_finite() && space.ends(space.start(), effort.search as usize) == Some(true) {
        return Ok(None);
    }
    best(problem, effort).map(|best| Some(best).filter(|best| best.figures.minutes <= minutes))
}

/// A little above, so that a search below it finds what takes just so many minutes, and ties fall as they should.
fn above(minutes: f64) -> f64 {
    minutes * (1.0 + 1e-9) + f64::MIN_POSITIVE
}

/// None where every order runs into a dead end.
fn solve(problem: &Problem, space: &Space, effort: Effort) -> Option<Best> {
    let start = space.start();
    let mut guess = Guess::new(space, effort.guess);
    let near = guess.near(start);
    let far = guess.far(start).0;
    let limit = above(near.min(far));
    let allowance = if effort.table && Dense::fits(space) { effort.search } else { effort.long_search };
    // no order that ends was found: the search must find one, or show that there is none
    let allowance = if limit.is_infinite() { allowance.max(1_000_000) } else { allowance };
    let mut search = Search::new(space, allowance);
    let value = search.solve(start, limit);
    if !search.stopped {
        if value.is_infinite() {
            return None;
        }
        let tree = grow(space, start, &mut |state| search.choose(state));
        return Some(proven(problem, tree));
    }
    if effort.table && Dense::fits(space) {
        drop(search);
        drop(guess);
        let dense = Dense::new(space);
        let tree = grow(space, start, &mut |state| least(space, state, |next| dense.value(next)));
        return Some(proven(problem, tree));
    }
    let floor = search.floor(start) / (1.0 + 1e-9);
    let tree = if far <= near {
        grow(space, start, &mut |state| guess.far(state).1)
    } else {
        grow(space, start, &mut |state| guess.near_step(state))
    };
    let figures = tree.figures(problem);
    Some(Best { bound: floor.min(figures.minutes), tree, figures, exact: false })
}

fn proven(problem: &Problem, tree: Tree) -> Best {
    let figures = tree.figures(problem);
    Best { bound: figures.minutes, tree, figures, exact: true }
}

/// The step with the least value, by the values of all states.
fn least(space: &Space, state: State, value: impl Fn(State) -> f64) -> Option<usize> {
    let Options::Moves(moves) = space.options(state) else { return None };
    let mass = space.mass(state);
    let mut best = (f64::INFINITY, None);
    for step in members(moves) {
        let go = space.go(state, step);
        let behind: f64 = go.next.iter().map(|(_, next, factor)| factor * value(*next)).sum();
        if go.minutes * mass + behind < best.0 {
            best = (go.minutes * mass + behind, Some(step));
        }
    }
    best.1
}

/// Follows a choice of steps down to the ends, in the problem's own causes and outcomes.
fn grow(space: &Space, state: State, choose: &mut dyn FnMut(State) -> Option<usize>) -> Tree {
    let Some(step) = choose(state) else { return Tree::Stop(space.causes(state.left)) };
    let part = &space.steps[step];
    let mut results: Vec<(usize, Tree)> =
        space.go(state, step).next.iter().map(|(outcome, next, _)| (*outcome, grow(space, *next, choose))).collect();
    if part.outcomes.is_empty() {
        return Tree::Do(part.origin, Box::new(results.remove(0).1));
    }
    Tree::Ask(part.origin, results)
}
