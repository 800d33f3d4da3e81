//! In: a [`Space`] and a choice of a step for each state. Out: the [`Tree`] that follows it, as large as it may be.
//!
//! A tree may be far larger than the states that it goes through: where tests leave most causes several outcomes it doubles with each
//! of them. The likeliest ways are followed first; those that are not followed to their end do all that is left, one after the other.

use crate::order::bits::Bits;
use crate::order::problem::Set;
use crate::order::space::{Options, Space, State};
use crate::order::tree::Tree;
use std::collections::BinaryHeap;

/// A tree, and how its ways end.
pub struct Grown {
    /// The tree.
    pub tree: Tree,
    /// No way was cut short.
    pub whole: bool,
    /// Some way ends where a reading that was taken too early keeps the rest from being told.
    pub dead: bool,
}

/// Follows a choice of steps, in the problem's own causes and outcomes, until the tree has about `most` nodes.
pub fn grow<S: Bits>(space: &Space<S>, choose: &mut dyn FnMut(State<S>) -> Option<usize>, most: usize) -> Grown {
    let start = space.start();
    let mut growing = Growing { space, nodes: vec![Node::new(start)] };
    let mut ways = BinaryHeap::from([Way { mass: space.mass(start), at: 0, factor: 1.0 }]);
    let mut dead = false;
    while growing.nodes.len() < most {
        let Some(way) = ways.pop() else { break };
        let state = growing.nodes[way.at].state;
        let Some(step) = choose(state) else {
            growing.nodes[way.at].ended = true;
            dead |= matches!(space.options(state), Options::Dead);
            continue;
        };
        growing.nodes[way.at].step = Some(step);
        for (outcome, next, factor) in space.go(state, step).next {
            let factor = way.factor * factor;
            let at = growing.nodes.len();
            growing.nodes.push(Node::new(next));
            growing.nodes[way.at].next.push((outcome, at));
            ways.push(Way { mass: space.mass(next) * factor, at, factor });
        }
    }
    // what is still open has no step: either there is none, or it was not looked for
    let whole = ways.into_iter().all(|way| space.useful_in(growing.nodes[way.at].state).is_none());
    Grown { tree: growing.tree(0), whole, dead }
}

struct Growing<'a, S> {
    space: &'a Space<S>,
    nodes: Vec<Node<S>>,
}

struct Node<S> {
    state: State<S>,
    step: Option<usize>,
    next: Vec<(usize, usize)>,
    /// Nothing more can be done here.
    ended: bool,
}

/// A way that is not yet followed; the one that more jobs come to is the greater.
struct Way {
    mass: f64,
    factor: f64,
    at: usize,
}

impl<S> Node<S> {
    fn new(state: State<S>) -> Self {
        Node { state, step: None, next: Vec::new(), ended: false }
    }
}

impl<S: Bits> Growing<'_, S> {
    fn tree(&self, at: usize) -> Tree {
        let node = &self.nodes[at];
        let Some(step) = node.step else {
            let left: Set = self.space.causes(node.state.left);
            let rest = if node.ended { Vec::new() } else { self.space.in_order(node.state) };
            if rest.is_empty() {
                return Tree::Stop(left);
            }
            return Tree::All(left, rest.into_iter().map(|step| self.space.steps[step].origin).collect());
        };
        let part = &self.space.steps[step];
        let mut results: Vec<(usize, Tree)> =
            node.next.iter().map(|(outcome, next)| (*outcome, self.tree(*next))).collect();
        if part.outcomes.is_empty() {
            return Tree::Do(part.origin, Box::new(results.remove(0).1));
        }
        Tree::Ask(part.origin, results)
    }
}

impl Ord for Way {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.mass.total_cmp(&other.mass).then(other.at.cmp(&self.at))
    }
}

impl PartialOrd for Way {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Way {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Way {}
