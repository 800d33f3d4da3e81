//! Rings: ways round that a job could go for ever, and steps that no way leads out of.
//!
//! In: the possible paths of one class. Out: [`endless`] rings without a `do`, and states that can't reach an ending.

use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};

use super::paths::{Next, Paths, StateAt, Via};
use crate::model::{Kind, Procedure, StepIx};

/// A ring of possible states.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ring {
    /// The steps on it, in file order.
    pub steps: Vec<StepIx>,
    /// Its state nearest to the start.
    pub entry: StateAt,
    /// The way round from the entry back to it.
    pub round: Vec<(StateAt, Via)>,
}

/// The rings of possible states that pass no `do`, nearest first.
pub fn endless(procedure: &Procedure, paths: &Paths) -> Vec<Ring> {
    let is_do = |s: StateAt| matches!(procedure.steps[paths.states[s].step].kind, Kind::Do(_));
    let mut graph: DiGraph<(), ()> = DiGraph::with_capacity(paths.states.len(), paths.states.len() * 2);
    for _ in &paths.states {
        graph.add_node(());
    }
    for (at, moves) in paths.moves.iter().enumerate() {
        for next in moves.iter().filter_map(|m| state(m.next)) {
            if !is_do(at) && !is_do(next) {
                graph.add_edge(NodeIndex::new(at), NodeIndex::new(next), ());
            }
        }
    }
    let mut rings: Vec<Ring> = tarjan_scc(&graph)
        .into_iter()
        .filter(|scc| scc.len() > 1 || graph.contains_edge(scc[0], scc[0]))
        .filter_map(|scc| ring(paths, scc.into_iter().map(NodeIndex::index).collect()))
        .collect();
    rings.sort_by_key(|r| r.entry);
    rings.dedup_by(|later, first| later.steps == first.steps);
    rings
}

fn ring(paths: &Paths, mut states: Vec<StateAt>) -> Option<Ring> {
    states.sort_unstable();
    let entry = *states.first()?;
    let mut steps: Vec<StepIx> = states.iter().map(|s| paths.states[*s].step).collect();
    steps.sort_unstable();
    steps.dedup();
    Some(Ring { steps, entry, round: round(paths, &states, entry)? })
}

/// The shortest way from a state back to itself within these states.
fn round(paths: &Paths, within: &[StateAt], entry: StateAt) -> Option<Vec<(StateAt, Via)>> {
    let mut from: std::collections::BTreeMap<StateAt, (StateAt, Via)> = std::collections::BTreeMap::new();
    let mut queue = std::collections::VecDeque::from([entry]);
    while let Some(at) = queue.pop_front() {
        for m in &paths.moves[at] {
            let Some(next) = state(m.next).filter(|n| within.binary_search(n).is_ok()) else { continue };
            if next == entry {
                let mut way = vec![(at, m.via)];
                let mut back = at;
                while back != entry {
                    let (before, via) = *from.get(&back)?;
                    way.push((before, via));
                    back = before;
                }
                way.reverse();
                return Some(way);
            }
            from.entry(next).or_insert_with(|| {
                queue.push_back(next);
                (at, m.via)
            });
        }
    }
    None
}

/// States from which no possible path leads to an ending, nor to a state that stops in a gap (`stops`).
pub fn stuck(paths: &Paths, stops: impl Fn(StateAt) -> bool) -> Vec<StateAt> {
    let mut into: Vec<Vec<StateAt>> = vec![Vec::new(); paths.states.len()];
    let mut out = vec![false; paths.states.len()];
    let mut work = Vec::new();
    for (at, moves) in paths.moves.iter().enumerate() {
        for m in moves {
            match m.next {
                Next::State(next) => into[next].push(at),
                Next::End => out[at] = true,
            }
        }
        out[at] |= stops(at);
        if out[at] {
            work.push(at);
        }
    }
    while let Some(at) = work.pop() {
        for before in &into[at] {
            if !out[*before] {
                out[*before] = true;
                work.push(*before);
            }
        }
    }
    (0..paths.states.len()).filter(|s| !out[*s]).collect()
}

/// The state that a move leads to.
pub fn state(next: Next) -> Option<StateAt> {
    match next {
        Next::State(at) => Some(at),
        Next::End => None,
    }
}
