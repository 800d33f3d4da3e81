//! In: a procedure as written and its question without names. Out: the authored order as a [`Tree`], to be laid beside the best one.

use super::bits::Bits;
use super::problem::Set;
use super::translate::Translated;
use super::tree::Tree;
use crate::graph::paths::{Next, Paths, StateAt, Via};
use crate::model::{Kind, Procedure, StepIx};

/// As many nodes as the tree may have: a written order with more is compared no further.
const MOST: usize = 20_000;

/// The authored order on one class of vehicles. Nothing where it is too large.
pub fn authored(procedure: &Procedure, paths: &Paths, translated: &Translated) -> Option<Tree> {
    if paths.is_empty() || !paths.is_exact() {
        return None;
    }
    let all = translated.problem.all();
    let mut walk = Walk { procedure, paths, translated, path: Vec::new(), read: Vec::new(), nodes: 0 };
    walk.state(0, all)
}

struct Walk<'a> {
    procedure: &'a Procedure,
    paths: &'a Paths,
    translated: &'a Translated,
    path: Vec<StateAt>,
    /// Readings taken on the way and not changed since: position and outcome.
    read: Vec<(usize, usize)>,
    nodes: usize,
}

impl Walk<'_> {
    fn state(&mut self, at: StateAt, left: Set) -> Option<Tree> {
        self.nodes += 1;
        if self.nodes > MOST || self.path.len() > 500 {
            return None;
        }
        // A return ends the walk, and so does a state that none of the causes comes to.
        if left.is_none() || self.path.contains(&at) {
            return Some(Tree::Stop(left));
        }
        let step = self.paths.step(at);
        let position = self.translated.position(step);
        let moves = self.paths.moves(at).filter(|m| m.via != Via::Without);
        let moves: Vec<(usize, Next)> = moves
            .map(|m| match m.via {
                Via::Result(result) => (result, m.next),
                Via::Without => (0, m.next),
            })
            .collect();
        self.path.push(at);
        let read = self.read.clone();
        let tree = match (&self.procedure.steps[step].kind, position) {
            (Kind::Measure(_) | Kind::Observe(_), Some(position)) => self.ask(step, position, &moves, left),
            (kind, position) => {
                self.change(position);
                let next = moves.first().map_or(Some(Tree::Stop(left)), |(_, next)| self.next(*next, left));
                match (kind, position) {
                    (Kind::Do(_), Some(position)) => next.map(|n| Tree::Do(position, Box::new(n))),
                    _ => next,
                }
            }
        };
        self.path.pop();
        self.read = read;
        tree
    }

    fn ask(&mut self, step: StepIx, position: usize, moves: &[(usize, Next)], left: Set) -> Option<Tree> {
        let place = |position: usize| self.translated.tests[position].iter().position(|t| *t == step);
        if let Some((read, outcome, own)) = self.read.iter().find_map(|(at, o)| Some((*at, *o, place(*at)?))) {
            // read before, by this test or by another of its reading: its result is known
            let shown = self.translated.answers[read][outcome][own];
            let next = moves.iter().find(|(result, _)| shown == Some(*result)).map(|(_, next)| *next);
            return next.map_or(Some(Tree::Stop(left)), |next| self.next(next, left));
        }
        let tests = &self.translated.tests[position];
        let Some(own) = place(position) else { return Some(Tree::Stop(left)) };
        let mut results = Vec::new();
        for (result, next) in moves {
            for outcome in 0..self.translated.problem.steps[position].outcomes.len() {
                let kept = left & self.translated.problem.steps[position].outcomes[outcome];
                if !kept.is_none() && self.translated.answers[position][outcome][own] == Some(*result) {
                    let before = self.read.clone();
                    self.change(Some(position));
                    if tests.len() > 1 {
                        self.read.push((position, outcome));
                    }
                    results.push((outcome, self.next(*next, kept)?));
                    self.read = before;
                }
            }
        }
        Some(if results.is_empty() { Tree::Stop(left) } else { Tree::Ask(position, results) })
    }

    /// Forgets the readings that a step changes.
    fn change(&mut self, position: Option<usize>) {
        let Some(position) = position else { return };
        let steps = &self.translated.problem.steps;
        self.read.retain(|(read, _)| steps[*read].key.is_none_or(|key| !steps[position].changes.has(key)));
    }

    fn next(&mut self, next: Next, left: Set) -> Option<Tree> {
        match next {
            Next::State(at) => self.state(at, left),
            Next::End => Some(Tree::Stop(left)),
        }
    }
}
