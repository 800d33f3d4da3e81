//! In: an order of work over positions. Out: [`Named`], the same with the procedure's own steps and results, each test that shares its
//! reading with others asked one after the other.

use super::problem::{Set as Places, members};
use super::shares::Odds;
use super::translate::Translated;
use super::tree::Tree;
use crate::model::{Cause, CauseIx, Set, StepIx};

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
        /// The results that have odds.
        results: Vec<Answer>,
    },
    /// These causes are left, and these steps, one after the other, as far as they still tell something.
    All {
        /// The causes.
        left: Vec<CauseIx>,
        /// The steps.
        steps: Vec<StepIx>,
    },
}

impl Named {
    /// The causes that are left somewhere.
    pub fn causes(&self) -> Set<Cause> {
        match self {
            Named::Stop(causes) | Named::All { left: causes, .. } => causes.iter().copied().collect(),
            Named::Do(_, then) => then.causes(),
            Named::Ask { results, .. } => results.iter().fold(Set::new(), |all, one| all.or(&one.next.causes())),
        }
    }

    /// Whether every way is told to its end.
    pub fn is_whole(&self) -> bool {
        match self {
            Named::Stop(_) => true,
            Named::All { .. } => false,
            Named::Do(_, then) => then.is_whole(),
            Named::Ask { results, .. } => results.iter().all(|answer| answer.next.is_whole()),
        }
    }
}

/// One result of a test, and the way on.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The result.
    pub result: usize,
    /// What other tests of the same reading then show: known without asking.
    pub also: Vec<(StepIx, usize)>,
    /// The way on.
    pub next: Named,
}

/// One way on: what each of the tests shows, by position in the list of tests.
type Way = (Vec<Option<usize>>, Named);

/// Gives an order its names back.
pub fn named(translated: &Translated, odds: &Odds, tree: &Tree) -> Named {
    let causes = |left: Places| members(left).filter_map(|at| odds.causes.get(at).copied()).collect();
    match tree {
        Tree::Stop(left) => Named::Stop(causes(*left)),
        Tree::All(left, steps) => {
            let done = |step: &usize| match translated.tests[*step].as_slice() {
                [] => vec![translated.steps[*step]],
                tests => tests.to_vec(),
            };
            Named::All { left: causes(*left), steps: steps.iter().flat_map(done).collect() }
        }
        Tree::Do(step, then) => Named::Do(translated.steps[*step], Box::new(named(translated, odds, then))),
        Tree::Ask(step, results) => {
            let tests = &translated.tests[*step];
            let ways = results
                .iter()
                .map(|(outcome, next)| (translated.answers[*step][*outcome].clone(), named(translated, odds, next)));
            ask(tests, 0, ways.collect()).1
        }
    }
}

/// The tests of one reading one after the other. One whose result is known on this way is not asked: with the way on comes what it
/// shows.
fn ask(tests: &[StepIx], at: usize, mut ways: Vec<Way>) -> (Vec<(StepIx, usize)>, Named) {
    let Some(step) = tests.get(at) else {
        return (Vec::new(), if ways.is_empty() { Named::Stop(Vec::new()) } else { ways.swap_remove(0).1 });
    };
    let mut results: Vec<(Option<usize>, Vec<Way>)> = Vec::new();
    for way in ways {
        let shown = way.0[at];
        match results.iter_mut().find(|(result, _)| *result == shown) {
            Some((_, same)) => same.push(way),
            None => results.push((shown, vec![way])),
        }
    }
    if at > 0 && results.len() == 1 {
        let (shown, ways) = results.swap_remove(0);
        let (mut also, next) = ask(tests, at + 1, ways);
        also.extend(shown.map(|result| (*step, result)));
        return (also, next);
    }
    let answer = |(result, ways): (Option<usize>, Vec<Way>)| {
        let (also, next) = ask(tests, at + 1, ways);
        result.map(|result| Answer { result, also, next })
    };
    let results = results.into_iter().filter_map(answer).collect();
    (Vec::new(), Named::Ask { step: *step, taken: at > 0, results })
}
