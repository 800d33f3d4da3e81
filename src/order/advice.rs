//! In: the order as written and the best order. Out: [`Advice`], the first step to move.

use crate::order::bits::Bits;
use crate::order::problem::{Problem, Set, members};
use crate::order::tree::Tree;

/// Where the two orders first part, on the likeliest way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Advice {
    /// What to do about it.
    pub what: What,
    /// The way there: each step with its outcome (none for a `do` step).
    pub path: Vec<(usize, Option<usize>)>,
}

/// What to do where two orders part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Do `step`, which comes later as written, before `before`.
    Move {
        /// The step to move.
        step: usize,
        /// The step that it should come before.
        before: usize,
    },
    /// Do `step` only where it is needed.
    OnlyWhenNeeded {
        /// The step that comes too early, or needlessly.
        step: usize,
    },
}

/// Finds the first step to move. None where the orders don't part.
///
/// Goes down both trees at once as long as they agree, the likeliest outcome first.
pub fn advice(problem: &Problem, written: &Tree, best: &Tree) -> Option<Advice> {
    let mut path = Vec::new();
    let what = part(problem, &problem.odds(), written, best, &mut path)?;
    Some(Advice { what, path })
}

type Path = Vec<(usize, Option<usize>)>;

fn part(problem: &Problem, odds: &[f64], written: &Tree, best: &Tree, path: &mut Path) -> Option<What> {
    match (written, best) {
        (Tree::Stop(_) | Tree::All(..), _) | (_, Tree::All(..)) => None,
        (Tree::Do(one, then), Tree::Do(other, best)) if one == other => {
            path.push((*one, None));
            let found = part(problem, odds, then, best, path);
            if found.is_none() {
                path.pop();
            }
            found
        }
        (Tree::Ask(one, results), Tree::Ask(other, best)) if one == other => {
            let step = &problem.steps[*one];
            let mass = |set: Set| -> f64 { members(set).map(|cause| odds[cause] / step.ways(cause) as f64).sum() };
            let mut ways: Vec<&(usize, Tree)> = results.iter().collect();
            ways.sort_by(|a, b| mass(step.outcomes[b.0]).total_cmp(&mass(step.outcomes[a.0])).then(a.0.cmp(&b.0)));
            for (outcome, then) in ways {
                let Some((_, best)) = best.iter().find(|(other, _)| other == outcome) else { continue };
                let there: Vec<f64> = odds
                    .iter()
                    .enumerate()
                    .map(
                        |(cause, odds)| {
                            if step.outcomes[*outcome].has(cause) { odds / step.ways(cause) as f64 } else { 0.0 }
                        },
                    )
                    .collect();
                path.push((*one, Some(*outcome)));
                if let Some(found) = part(problem, &there, then, best, path) {
                    return Some(found);
                }
                path.pop();
            }
            None
        }
        (Tree::Do(step, _) | Tree::Ask(step, _), Tree::Stop(_)) => Some(What::OnlyWhenNeeded { step: *step }),
        (Tree::Do(before, _) | Tree::Ask(before, _), Tree::Do(step, _) | Tree::Ask(step, _)) => {
            if written.steps().contains(step) {
                Some(What::Move { step: *step, before: *before })
            } else {
                Some(What::OnlyWhenNeeded { step: *before })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::problem::Step;

    fn problem() -> Problem {
        let step = |cause: usize| Step::test(1.0, &[1 << cause, 0b111_u128 & !(1 << cause)]);
        Problem { weights: vec![1.0, 2.0, 3.0], steps: vec![step(0), step(1), step(2)], setups: Vec::new() }
    }

    fn stop(left: u128) -> Tree {
        Tree::Stop(left.into())
    }

    fn ask(step: usize, shown: u128, then: Tree) -> Tree {
        Tree::Ask(step, vec![(0, stop(shown)), (1, then)])
    }

    #[test]
    fn the_step_that_comes_first_in_the_best_order_moves_up() {
        let written = ask(0, 1, ask(2, 4, stop(2)));
        let best = ask(2, 4, ask(1, 2, stop(1)));
        let found = advice(&problem(), &written, &best).unwrap();
        assert_eq!(found, Advice { what: What::Move { step: 2, before: 0 }, path: Vec::new() });
    }

    #[test]
    fn a_step_that_tells_nothing_more_is_asked_only_when_needed() {
        let written = ask(0, 1, ask(2, 4, ask(1, 2, stop(0))));
        let best = ask(0, 1, ask(2, 4, stop(2)));
        let found = advice(&problem(), &written, &best).unwrap();
        assert_eq!(found.what, What::OnlyWhenNeeded { step: 1 });
        assert_eq!(found.path, [(0, Some(1)), (2, Some(1))]);
    }

    #[test]
    fn orders_that_agree_need_no_advice() {
        let tree = ask(0, 1, ask(2, 4, stop(2)));
        assert_eq!(advice(&problem(), &tree, &tree), None);
    }
}
