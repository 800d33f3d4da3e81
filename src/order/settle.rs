//! In: a [`Problem`] and an order for it. Out: the same work, with ties as they should fall: harmless before cautious, then as authored.
//!
//! Two tests that follow each other whatever the first shows cost the same either way round, and so do their steps in every state: no
//! raise of minutes tells them apart, and the search takes whichever it meets first. Here such neighbours are sorted.

use std::collections::BTreeMap;

use crate::order::bits::Bits;
use crate::order::problem::{Problem, Step};
use crate::order::tree::Tree;

/// Sorts neighbours of equal worth. What the order costs, for each cause, stays.
pub fn settle(problem: &Problem, tree: Tree) -> Tree {
    let all = |step: &Step| (0..problem.weights.len()).all(|cause| step.ways(cause) > 0);
    Sorting { problem, whole: problem.steps.iter().map(all).collect() }.settle(tree)
}

struct Sorting<'a> {
    problem: &'a Problem,
    /// Per step, whether every cause has an outcome: one that has none ends its way there, and sooner is cheaper.
    whole: Vec<bool>,
}

impl Sorting<'_> {
    fn settle(&self, tree: Tree) -> Tree {
        match tree {
            Tree::Stop(_) | Tree::All(..) => tree,
            Tree::Do(step, then) => Tree::Do(step, Box::new(self.settle(*then))),
            Tree::Ask(step, results) => {
                let results = results.into_iter().map(|(outcome, next)| (outcome, self.settle(next)));
                self.sink(step, results.collect())
            }
        }
    }

    /// A test with what follows it, which is settled: behind all that goes before it.
    fn sink(&self, step: usize, results: Vec<(usize, Tree)>) -> Tree {
        let Some(other) = follower(&results).filter(|other| self.goes_before(*other, step)) else {
            return Tree::Ask(step, results);
        };
        let behind = |next: &Tree| match next {
            Tree::Ask(_, behind) => behind.iter().map(|(shown, _)| *shown).collect(),
            _ => Vec::new(),
        };
        let shown: Vec<usize> = results.iter().flat_map(|(_, next)| behind(next)).collect();
        // where the other leaves it nothing to tell, it is not asked: then the two are not of equal worth
        if shown.iter().any(|one| shown.iter().filter(|other| *other == one).count() < 2) {
            return Tree::Ask(step, results);
        }
        let mut turned: BTreeMap<usize, Vec<(usize, Tree)>> = BTreeMap::new();
        for (outcome, next) in results {
            let Tree::Ask(_, behind) = next else { continue };
            for (shown, next) in behind {
                turned.entry(shown).or_default().push((outcome, next));
            }
        }
        Tree::Ask(other, turned.into_iter().map(|(shown, ways)| (shown, self.sink(step, ways))).collect())
    }

    /// Whether a test that follows another should come before it, and can at no cost.
    fn goes_before(&self, other: usize, step: usize) -> bool {
        let (late, early) = (&self.problem.steps[other], &self.problem.steps[step]);
        let same_reading =
            |one: usize| self.problem.steps[one].key.is_some() && self.problem.steps[one].key == early.key;
        (late.caution, other) < (early.caution, step)
            && self.whole[other]
            && self.whole[step]
            && late.setups == early.setups
            && late.changes.is_none()
            && early.changes.is_none()
            && !same_reading(other)
            && !late.needs.members().any(|need| need == step || same_reading(need))
    }
}

/// The test that follows whatever is seen.
fn follower(results: &[(usize, Tree)]) -> Option<usize> {
    let asked = |(_, next): &(usize, Tree)| match next {
        Tree::Ask(step, _) => Some(*step),
        _ => None,
    };
    let first = asked(results.first()?)?;
    results.iter().all(|one| asked(one) == Some(first)).then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::problem::Set;

    fn problem() -> Problem {
        let step = |ones: u128| Step::test(1.0, &[ones, 0b1111 & !ones]);
        Problem { weights: vec![1.0; 4], steps: vec![step(0b0011), step(0b0101)], setups: Vec::new() }
    }

    fn stop(left: u128) -> Tree {
        Tree::Stop(Set::from(left))
    }

    /// One test, then the other: four causes, each told.
    fn both(first: usize) -> Tree {
        let sets = |step: usize| if step == 0 { [0b0011, 0b1100] } else { [0b0101, 0b1010] };
        let behind = |set: u128| Tree::Ask(1 - first, (0..2).map(|at| (at, stop(set & sets(1 - first)[at]))).collect());
        Tree::Ask(first, (0..2).map(|at| (at, behind(sets(first)[at]))).collect())
    }

    #[test]
    fn of_equals_the_authors_first_comes_first() {
        assert_eq!(settle(&problem(), both(1)), both(0));
        assert_eq!(settle(&problem(), both(0)), both(0));
    }

    #[test]
    fn of_equals_the_harmless_one_comes_first() {
        let mut problem = problem();
        problem.steps[0].caution = true;
        assert_eq!(settle(&problem, both(0)), both(1));
    }

    #[test]
    fn what_must_come_before_stays_before() {
        let mut problem = problem();
        problem.steps[0].needs = Set::one(1);
        assert_eq!(settle(&problem, both(1)), both(1));
    }

    #[test]
    fn what_is_not_always_asked_stays_where_it_is() {
        let tree = Tree::Ask(1, vec![(0, Tree::Ask(0, vec![(0, stop(1)), (1, stop(4))])), (1, stop(0b1010))]);
        assert_eq!(settle(&problem(), tree.clone()), tree);
    }
}
