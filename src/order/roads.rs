//! In: a procedure's possible paths on one class of vehicles. Out: [`Roads`], the steps that a job comes to while everything is at
//! hand, and the `do` steps that every way to each of them passes.

use std::collections::BTreeSet;

use petgraph::algo::dominators::{Dominators, simple_fast};
use petgraph::graph::{DiGraph, NodeIndex};

use crate::graph::arrows::{Arrows, Node};
use crate::graph::paths::{Next, Paths, Via};
use crate::model::{Kind, Procedure, StepIx};

/// Ways from step to step, those for want of equipment left out: a step that only a bay without some instrument comes to is no
/// choice where the instrument is there.
pub struct Roads {
    over: Option<Dominators<NodeIndex>>,
}

impl Roads {
    /// Draws the possible ways; every arrow where the paths are too many to be told.
    pub fn new(procedure: &Procedure, arrows: &Arrows, paths: &Paths) -> Self {
        let mut ways: BTreeSet<(u32, u32)> = BTreeSet::new();
        if paths.is_exact() {
            for at in 0..paths.len() {
                for way in paths.moves(at).filter(|m| m.via != Via::Without) {
                    if let Next::State(to) = way.next {
                        ways.insert((paths.step(at).raw() as u32, paths.step(to).raw() as u32));
                    }
                }
            }
        } else {
            for edge in arrows.graph.edge_indices() {
                let ends = arrows.graph.edge_endpoints(edge).map(|(from, to)| (&arrows.graph[from], &arrows.graph[to]));
                if let Some((Node::Step(from), Node::Step(to))) = ends
                    && arrows.graph[edge] != Via::Without
                {
                    ways.insert((from.raw() as u32, to.raw() as u32));
                }
            }
        }
        let mut graph: DiGraph<(), ()> = DiGraph::new();
        for _ in procedure.steps.indexes() {
            graph.add_node(());
        }
        graph.extend_with_edges(ways);
        Self { over: procedure.start().map(|start| simple_fast(&graph, NodeIndex::new(start.raw()))) }
    }

    /// Whether a job comes to the step.
    pub fn reach(&self, step: StepIx) -> bool {
        self.over.as_ref().is_some_and(|over| over.dominators(NodeIndex::new(step.raw())).is_some())
    }

    /// The `do` steps that every way to a step passes.
    pub fn passed<'a>(&'a self, procedure: &'a Procedure, step: StepIx) -> impl Iterator<Item = StepIx> + 'a {
        let over = self.over.as_ref().and_then(|over| over.strict_dominators(NodeIndex::new(step.raw())));
        over.into_iter()
            .flatten()
            .map(|node| StepIx::new(node.index()))
            .filter(|at| matches!(procedure.steps[*at].kind, Kind::Do(_)))
    }
}
