//! In: a procedure as written and its question without names. Out: the authored order as a [`Tree`], to be laid beside the best one.

use super::problem::Set as Bits;
use super::translate::Translated;
use super::tree::Tree;
use crate::graph::paths::{Next, Paths, StateAt, Via};
use crate::model::{Kind, Procedure};

/// As many nodes as the tree may have: a written order with more is compared no further.
const MOST: usize = 20_000;

/// The authored order on one class of vehicles. Nothing where it is too large.
pub fn authored(procedure: &Procedure, paths: &Paths, translated: &Translated) -> Option<Tree> {
    if paths.is_empty() || !paths.is_exact() {
        return None;
    }
    let all = translated.problem.all();
    let mut walk = Walk { procedure, paths, translated, path: Vec::new(), nodes: 0 };
    walk.state(0, all)
}

struct Walk<'a> {
    procedure: &'a Procedure,
    paths: &'a Paths,
    translated: &'a Translated,
    path: Vec<StateAt>,
    nodes: usize,
}

impl Walk<'_> {
    fn state(&mut self, at: StateAt, left: Bits) -> Option<Tree> {
        self.nodes += 1;
        if self.nodes > MOST || self.path.len() > 500 {
            return None;
        }
        // A return ends the walk, and so does a state that none of the causes comes to.
        if left == 0 || self.path.contains(&at) {
            return Some(Tree::Stop(left));
        }
        let step = self.paths.step(at);
        let position = self.translated.steps.iter().position(|s| *s == step);
        let moves = self.paths.moves(at).filter(|m| m.via != Via::Without);
        let moves: Vec<(usize, Next)> = moves
            .map(|m| match m.via {
                Via::Result(result) => (result, m.next),
                Via::Without => (0, m.next),
            })
            .collect();
        self.path.push(at);
        let tree = match (&self.procedure.steps[step].kind, position) {
            (Kind::Measure(_) | Kind::Observe(_), Some(position)) => self.ask(position, &moves, left),
            (kind, position) => {
                let next = moves.first().map_or(Some(Tree::Stop(left)), |(_, next)| self.next(*next, left));
                match (kind, position) {
                    (Kind::Do(_), Some(position)) => next.map(|n| Tree::Do(position, Box::new(n))),
                    _ => next,
                }
            }
        };
        self.path.pop();
        tree
    }

    fn ask(&mut self, position: usize, moves: &[(usize, Next)], left: Bits) -> Option<Tree> {
        let mut results = Vec::new();
        for (result, next) in moves {
            let Some(outcome) = self.translated.results[position].iter().position(|r| r == result) else { continue };
            let kept = left & self.translated.problem.steps[position].outcomes[outcome];
            if kept != 0 {
                results.push((outcome, self.next(*next, kept)?));
            }
        }
        Some(if results.is_empty() { Tree::Stop(left) } else { Tree::Ask(position, results) })
    }

    fn next(&mut self, next: Next, left: Bits) -> Option<Tree> {
        match next {
            Next::State(at) => self.state(at, left),
            Next::End => Some(Tree::Stop(left)),
        }
    }
}
