//! In: a [`Problem`]. Out: its [`Outline`]: what of it can matter, and how many bits that takes.
//!
//! Steps that can never matter are gone, and causes that no test tells apart are one.

use crate::order::bits::Bits;
use crate::order::problem::{Problem, Set, members, set};
use std::collections::BTreeMap;

/// What of a problem can matter.
#[derive(Debug)]
pub struct Outline {
    /// Positions of the steps.
    pub kept: Vec<usize>,
    /// The causes of each class.
    pub classes: Vec<Set>,
    /// The odds of each class.
    pub weights: Vec<f64>,
    /// Readings that at least two of the steps take.
    pub read: Set,
    /// Steps that others need.
    pub needed: Set,
    /// The most positions that any of its sets needs: classes, steps, outcomes, things to remember.
    pub size: usize,
}

impl Outline {
    /// Draws it.
    pub fn new(problem: &Problem) -> Outline {
        let kept = matter(problem);
        let (classes, weights) = merge(problem, &kept);
        let read = repeated(problem, &kept);
        let needed = kept.iter().fold(Set::NONE, |sum, &step| sum | problem.steps[step].needs);
        let mut outline = Outline { kept, classes, weights, read, needed, size: 0 };
        let steps = || outline.kept.iter().map(|&step| &problem.steps[step]);
        let remembered = outline.kept.iter().filter(|&&step| outline.remembers(problem, step)).count();
        let setups = if steps().all(|step| step.setups.is_none()) { 0 } else { problem.setups.len() };
        let outcomes = steps().map(|step| step.outcomes.len()).max().unwrap_or(0);
        let memory = remembered + read.count() + setups;
        outline.size = outline.classes.len().max(outline.kept.len()).max(outcomes).max(memory);
        outline
    }

    /// Whether it matters later that a step was done.
    pub fn remembers(&self, problem: &Problem, step: usize) -> bool {
        let row = &problem.steps[step];
        let again = row.key.is_some_and(|key| self.read.has(key)) || row.changes.meets(self.read);
        let shared = || self.classes.iter().any(|class| row.ways(class.lowest()) > 1);
        again || self.needed.has(step) || shared()
    }
}

/// The steps that can matter: tests that rule something out and can be reached at all, and what they need.
fn matter(problem: &Problem) -> Vec<usize> {
    let all = problem.all();
    let mut reachable = Set::NONE;
    loop {
        let more = set((0..problem.steps.len()).filter(|&step| problem.steps[step].needs.is_within(reachable)));
        if more == reachable {
            break;
        }
        reachable = more;
    }
    let splits = |step: &usize| problem.steps[*step].outcomes.iter().any(|out| out.meets(all) && !all.is_within(*out));
    let mut kept = set(members(reachable).filter(splits));
    loop {
        let steps: Vec<usize> = members(kept).collect();
        let read = repeated(problem, &steps);
        let changes = |step: &usize| problem.steps[*step].changes.meets(read);
        let needs = members(kept).fold(Set::NONE, |set, step| set | problem.steps[step].needs);
        let twin = |step: &usize| {
            let key = problem.steps[*step].key;
            key.is_some() && members(needs).any(|need| problem.steps[need].key == key)
        };
        let more = needs | kept | set(members(reachable).filter(|step| changes(step) || twin(step)));
        if more == kept {
            return steps;
        }
        kept = more;
    }
}

/// Causes that every test treats alike become one class; its odds are their sum.
fn merge(problem: &Problem, kept: &[usize]) -> (Vec<Set>, Vec<f64>) {
    let odds = problem.odds();
    let mut seen: BTreeMap<Vec<bool>, usize> = BTreeMap::new();
    let (mut classes, mut weights): (Vec<Set>, Vec<f64>) = (Vec::new(), Vec::new());
    for (cause, &weight) in odds.iter().enumerate() {
        let outcomes = kept.iter().flat_map(|&step| &problem.steps[step].outcomes);
        let signature: Vec<bool> = outcomes.map(|outcome| outcome.has(cause)).collect();
        let class = *seen.entry(signature).or_insert(classes.len());
        if class == classes.len() {
            classes.push(Set::NONE);
            weights.push(0.0);
        }
        classes[class] |= Set::one(cause);
        weights[class] += weight;
    }
    (classes, weights)
}

/// Readings that at least two of the steps take.
fn repeated(problem: &Problem, kept: &[usize]) -> Set {
    let (mut once, mut twice) = (Set::NONE, Set::NONE);
    for key in kept.iter().filter_map(|&step| problem.steps[step].key) {
        twice |= once & Set::one(key);
        once |= Set::one(key);
    }
    twice
}
