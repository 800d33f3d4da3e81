//! The decision graph as a petgraph graph: steps and endings, and an arrow for each way on.
//!
//! In: a procedure. Out: [`Arrows`]: the graph, and what plain reachability says.

use std::collections::BTreeSet;

use petgraph::Direction;
use petgraph::algo::dominators::{Dominators, simple_fast};
use petgraph::algo::is_cyclic_directed;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::{Bfs, EdgeRef, NodeFiltered};

use super::paths::Via;
use crate::model::{Base, Procedure, StepIx, Way};

/// A node.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Node {
    /// A step.
    Step(StepIx),
    /// An ending: the step and the move that leads to it.
    End(StepIx, Via),
}

/// The graph of a procedure.
#[derive(Debug)]
pub struct Arrows {
    /// Nodes and arrows; a step's node has the step's index.
    pub graph: DiGraph<Node, Via>,
    steps: usize,
}

impl Arrows {
    /// Draws every arrow, whether possible or not.
    pub fn new(_base: &Base, procedure: &Procedure) -> Self {
        let mut graph = DiGraph::new();
        for at in procedure.steps.indexes() {
            graph.add_node(Node::Step(at));
        }
        for (at, _, step) in procedure.steps.iter() {
            let results = step.results.iter().enumerate().map(|(i, r)| (Via::Result(i), &r.way));
            let without = step.without.iter().map(|w| (Via::Without, &w.way));
            for (via, way) in results.chain(without) {
                match way {
                    Way::Then(to) => {
                        graph.add_edge(NodeIndex::new(at.raw()), NodeIndex::new(to.raw()), via);
                    }
                    Way::Unknown => {}
                    _ => {
                        let end = graph.add_node(Node::End(at, via));
                        graph.add_edge(NodeIndex::new(at.raw()), end, via);
                    }
                }
            }
        }
        Self { graph, steps: procedure.steps.len() }
    }

    /// Steps that arrows lead to from a step, itself among them.
    pub fn reached_from(&self, step: StepIx) -> Vec<StepIx> {
        let mut reached = Vec::new();
        let mut walk = Bfs::new(&self.graph, NodeIndex::new(step.raw()));
        while let Some(node) = walk.next(&self.graph) {
            if let Node::Step(at) = self.graph[node] {
                reached.push(at);
            }
        }
        reached.sort_unstable();
        reached
    }

    /// Steps of a set that arrows between steps of the set lead to from one of them, itself among them.
    pub fn reached_within(&self, set: &BTreeSet<StepIx>, from: StepIx) -> BTreeSet<StepIx> {
        let mut reached = BTreeSet::from([from]);
        let mut work = vec![from];
        while let Some(at) = work.pop() {
            for node in self.graph.neighbors(NodeIndex::new(at.raw())) {
                if let Node::Step(to) = self.graph[node]
                    && set.contains(&to)
                    && reached.insert(to)
                {
                    work.push(to);
                }
            }
        }
        reached
    }

    /// Steps with an arrow into a step, with the move, in written order.
    pub fn leading_to(&self, step: StepIx) -> Vec<(StepIx, Via)> {
        let mut from: Vec<(StepIx, Via)> = self
            .graph
            .edges_directed(NodeIndex::new(step.raw()), Direction::Incoming)
            .map(|e| (StepIx::new(e.source().index()), *e.weight()))
            .collect();
        from.sort_unstable();
        from
    }

    /// How many steps there are.
    pub fn steps(&self) -> usize {
        self.steps
    }

    /// Whether the arrows among the steps that `through` lets in lead round in a ring.
    pub fn leads_round(&self, through: impl Fn(StepIx) -> bool) -> bool {
        let steps = NodeFiltered::from_fn(&self.graph, |node| match self.graph[node] {
            Node::Step(at) => through(at),
            Node::End(..) => false,
        });
        is_cyclic_directed(&steps)
    }

    /// Per step, the steps that every way to it by arrows passes.
    pub fn passed(&self) -> Option<Passed> {
        (self.steps > 0).then(|| Passed(simple_fast(&self.graph, NodeIndex::new(0))))
    }
}

/// Which steps every way to a step passes (dominators of the graph).
pub struct Passed(Dominators<NodeIndex>);

impl Passed {
    /// Whether every way by arrows from the start to `step` passes `first`; so it is where no arrow leads there at all.
    pub fn passes(&self, first: StepIx, step: StepIx) -> bool {
        let mut all = self.0.dominators(NodeIndex::new(step.raw()));
        all.as_mut().is_none_or(|all| all.any(|node| node.index() == first.raw()))
    }
}
