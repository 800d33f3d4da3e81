//! In: a [`Problem`] and a [`Tree`] of tests for it. Out: its [`Figures`]: minutes, minutes per cause, groups, isolation.

use crate::order::bits::Bits;
use crate::order::problem::{Problem, Set, enter, members};

/// An order of work that depends on what is seen on the way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tree {
    /// Nothing more can be ruled out: these causes are left.
    Stop(Set),
    /// A `do` step, then on.
    Do(usize, Box<Tree>),
    /// A test, and the way on from each outcome that has odds (by its position in the test).
    Ask(usize, Vec<(usize, Tree)>),
    /// These causes are left, and these steps, one after the other, as far as they still tell something: too much to be told way by way.
    All(Set, Vec<usize>),
}

/// What an order of work costs and how far it isolates.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Expected minutes.
    pub minutes: f64,
    /// Expected minutes if the fault is this cause, by position.
    pub per_cause: Vec<f64>,
    /// The groups in which causes end, each once, by their first members.
    pub groups: Vec<Set>,
    /// The odds that the fault ends in a group of at most 1, 2, 3 causes.
    pub isolation: [f64; 3],
}

impl Tree {
    /// Adds up what the tree costs, from the definition: each cause walks down, taking each outcome that leaves it with
    /// equal odds.
    pub fn figures(&self, problem: &Problem) -> Figures {
        self.figures_beside(problem, Set::NONE)
    }

    /// The same where `quiet` causes (`no-fault`) never count as left beside others: the others are then the group.
    pub fn figures_beside(&self, problem: &Problem, quiet: Set) -> Figures {
        let count = problem.weights.len();
        let mut walk = Walk {
            problem,
            quiet,
            odds: problem.odds(),
            per_cause: vec![0.0; count],
            groups: Vec::new(),
            isolation: [0.0; 3],
        };
        walk.down(self, &vec![1.0; count], Set::NONE);
        let minutes = walk.odds.iter().zip(&walk.per_cause).map(|(odds, minutes)| odds * minutes).sum();
        walk.groups.sort_by_cached_key(|group| group.members().collect::<Vec<_>>());
        walk.groups.dedup();
        Figures { minutes, per_cause: walk.per_cause, groups: walk.groups, isolation: walk.isolation }
    }

    /// The steps of the tree, in the order in which they are first met, outcome by outcome.
    pub fn steps(&self) -> Vec<usize> {
        let mut found = Vec::new();
        self.collect(&mut found);
        found
    }

    fn collect(&self, found: &mut Vec<usize>) {
        let (step, next): (usize, Vec<&Tree>) = match self {
            Tree::Stop(_) => return,
            Tree::All(_, steps) => {
                found.extend(steps.iter().filter(|step| !found.contains(*step)).copied().collect::<Vec<_>>());
                return;
            }
            Tree::Do(step, then) => (*step, vec![then]),
            Tree::Ask(step, results) => (*step, results.iter().map(|(_, tree)| tree).collect()),
        };
        if !found.contains(&step) {
            found.push(step);
        }
        for tree in next {
            tree.collect(found);
        }
    }
}

struct Walk<'a> {
    problem: &'a Problem,
    quiet: Set,
    odds: Vec<f64>,
    per_cause: Vec<f64>,
    groups: Vec<Set>,
    isolation: [f64; 3],
}

impl Walk<'_> {
    /// `here`: the odds of arriving here, given each cause.
    fn down(&mut self, tree: &Tree, here: &[f64], in_force: Set) {
        match tree {
            Tree::Stop(left) => self.stop(*left, here),
            // every step counts for every cause, and none is said to be told apart: the figures are never better than the work
            Tree::All(left, steps) => {
                steps.iter().fold(in_force, |in_force, step| self.spend(*step, here, in_force));
                self.stop(*left, here);
            }
            Tree::Do(step, then) => {
                let now = self.spend(*step, here, in_force);
                self.down(then, here, now);
            }
            Tree::Ask(step, results) => {
                let now = self.spend(*step, here, in_force);
                let test = &self.problem.steps[*step];
                for (outcome, next) in results {
                    let there: Vec<f64> = (0..here.len())
                        .map(|cause| {
                            if test.outcomes[*outcome].has(cause) { here[cause] / test.ways(cause) as f64 } else { 0.0 }
                        })
                        .collect();
                    self.down(next, &there, now);
                }
            }
        }
    }

    fn spend(&mut self, step: usize, here: &[f64], in_force: Set) -> Set {
        let step = &self.problem.steps[step];
        let (extra, now) = enter(&self.problem.setups, in_force, step.setups);
        for (sum, odds) in self.per_cause.iter_mut().zip(here) {
            *sum += odds * (step.minutes + extra);
        }
        now
    }

    fn stop(&mut self, left: Set, here: &[f64]) {
        let left = if left.is_within(self.quiet) { left } else { left & !self.quiet };
        self.groups.push(left);
        let arrived: f64 = members(left).map(|cause| self.odds[cause] * here[cause]).sum();
        for (most, sum) in (1..).zip(self.isolation.iter_mut()) {
            if left.count() <= most {
                *sum += arrived;
            }
        }
    }
}
