//! In: an order of work over positions. Out: [`Named`], the same with the procedure's own steps and results, each test that shares its
//! reading with others asked one after the other.

use super::problem::members;
use super::shares::Odds;
use super::translate::Translated;
use super::tree::Tree;
use crate::model::{CauseIx, StepIx};

/// An order of work in a procedure's own names.
#[derive(Clone, Debug, PartialEq)]
pub enum Named {
    /// Nothing more can be ruled out: these causes are left.
    Stop(Vec<CauseIx>),
    /// A `do` step, then on.
    Do(StepIx, Box<Named>),
    /// A test.
    Ask {
        /// The step.
        step: StepIx,
        /// Its reading was taken at a step before: it costs no minutes.
        taken: bool,
        /// The way on from each result.
        results: Vec<(usize, Named)>,
    },
}

/// One way on: what each of the tests shows, by position in the list of tests.
type Way = (Vec<Option<usize>>, Named);

/// Gives an order its names back.
pub fn named(translated: &Translated, odds: &Odds, tree: &Tree) -> Named {
    match tree {
        Tree::Stop(left) => Named::Stop(members(*left).filter_map(|at| odds.causes.get(at).copied()).collect()),
        Tree::Do(step, then) => Named::Do(translated.steps[*step], Box::new(named(translated, odds, then))),
        Tree::Ask(step, results) => {
            let tests = &translated.tests[*step];
            let ways = results
                .iter()
                .map(|(outcome, next)| (translated.answers[*step][*outcome].clone(), named(translated, odds, next)));
            ask(tests, 0, ways.collect())
        }
    }
}

/// The tests of one reading one after the other; one that would change nothing on this way is left out.
fn ask(tests: &[StepIx], at: usize, mut ways: Vec<Way>) -> Named {
    let Some(step) = tests.get(at) else {
        return if ways.is_empty() { Named::Stop(Vec::new()) } else { ways.swap_remove(0).1 };
    };
    let mut results: Vec<(usize, Vec<Way>)> = Vec::new();
    for way in ways {
        // what a test has no result for, another has told already
        let shown = way.0[at].unwrap_or(usize::MAX);
        match results.iter_mut().find(|(result, _)| *result == shown) {
            Some((_, same)) => same.push(way),
            None => results.push((shown, vec![way])),
        }
    }
    let mut results: Vec<(usize, Named)> =
        results.into_iter().map(|(result, ways)| (result, ask(tests, at + 1, ways))).collect();
    let same = results.iter().all(|(_, next)| *next == results[0].1);
    if at > 0 && (same || results.iter().any(|(result, _)| *result == usize::MAX)) {
        return if results.is_empty() { Named::Stop(Vec::new()) } else { results.swap_remove(0).1 };
    }
    Named::Ask { step: *step, taken: at > 0, results }
}
