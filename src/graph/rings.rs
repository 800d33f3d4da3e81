//! Rings: ways round that a job could go for ever, and states that no way leads out of.
//!
//! In: the possible paths of one class. Out: [`endless`] rings without a `do`, and [`hopeless`] ones that no ending follows.

use std::collections::{BTreeMap, VecDeque};

use petgraph::algo::kosaraju_scc;
use petgraph::graph::{DiGraph, NodeIndex};

use super::paths::{Next, Paths, StateAt, Via};
use crate::model::{Kind, Procedure, Set, Step};

/// A ring of possible states.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ring {
    /// The steps on it.
    pub steps: Set<Step>,
    /// Its state nearest to the start; of a hopeless ring, the first at one of its steps that leads to it.
    pub entry: StateAt,
    /// How many steps lead to it.
    pub away: usize,
    /// The shortest way round from the entry back to it.
    pub round: Vec<(StateAt, Via)>,
}

/// Rings that share a step, each with its class, nearest first.
pub type Group = Vec<(usize, Ring)>;

/// The rings of possible states that pass no `do`, nearest first.
pub fn endless(procedure: &Procedure, paths: &Paths) -> Vec<Ring> {
    let is_do = |s: StateAt| matches!(procedure.steps[paths.step(s)].kind, Kind::Do(_));
    components(paths, |s| !is_do(s)).into_iter().filter_map(|states| ring(paths, &states)).collect()
}

/// The rings, nearest first, that a job which has come to them never leaves. A state that stops in a gap (`stops`) is a way out:
/// the gap is told, not the stop.
pub fn hopeless(paths: &Paths, stops: impl Fn(StateAt) -> bool) -> Vec<Ring> {
    let out = leads_out(paths, stops);
    if out.iter().all(|o| *o) {
        return Vec::new();
    }
    // Only where a job comes to rest: a ring that leads on to another is left in the end.
    let rests = |states: &Vec<StateAt>| {
        let mut next = states.iter().flat_map(|s| paths.moves(*s).filter_map(|m| state(m.next)));
        next.all(|n| states.binary_search(&n).is_ok())
    };
    let rings = components(paths, |s| !out[s]).into_iter().filter(rests);
    rings.filter_map(|states| Some(entered(paths, ring(paths, &states)?, &states, &out))).collect()
}

/// Moves the entry of a ring to where a job first comes to its steps: more may be known there than on the rounds that follow.
fn entered(paths: &Paths, ring: Ring, states: &[StateAt], out: &[bool]) -> Ring {
    let mut leading: Vec<bool> = vec![false; paths.len()];
    for state in states {
        leading[*state] = true;
    }
    let candidates: Vec<StateAt> =
        (0..paths.len()).filter(|s| !out[*s] && ring.steps.contains(paths.step(*s))).collect();
    // a state leads to the ring by the ring's own steps; later ones mostly stand behind
    let mut changed = true;
    while changed {
        changed = false;
        for at in candidates.iter().rev() {
            let leads = paths.moves(*at).filter_map(|m| state(m.next)).any(|n| leading[n]);
            if leads && !std::mem::replace(&mut leading[*at], true) {
                changed = true;
            }
        }
    }
    let entry = candidates.into_iter().find(|s| leading[*s]).unwrap_or(ring.entry);
    Ring { entry, away: paths.depth(entry), ..ring }
}

/// Rings of all classes, those that share a step together: to whoever reads the procedure they are one. Each group, and the
/// groups, nearest first.
pub fn grouped(rings: Vec<(usize, Ring)>) -> Vec<Group> {
    let mut groups: Vec<(Set<Step>, Group)> = Vec::new();
    for (class, ring) in rings {
        let (together, apart): (Vec<_>, Vec<_>) = groups.into_iter().partition(|(steps, _)| steps.meets(&ring.steps));
        let mut steps = ring.steps.clone();
        let mut members = Vec::new();
        for (more, rings) in together {
            steps = steps.or(&more);
            members.extend(rings);
        }
        members.push((class, ring));
        groups = apart;
        groups.push((steps, members));
    }
    let mut groups: Vec<Group> = groups.into_iter().map(|(_, members)| members).collect();
    for group in &mut groups {
        group.sort_by_key(|(class, ring)| (ring.away, *class));
    }
    groups.sort_by_key(|g| g.first().map(|(class, ring)| (ring.away, *class, ring.entry)));
    groups
}

/// Per state, whether some possible path leads from it to an ending or to a stop.
fn leads_out(paths: &Paths, stops: impl Fn(StateAt) -> bool) -> Vec<bool> {
    let mut into: Vec<Vec<u32>> = vec![Vec::new(); paths.len()];
    let mut out = vec![false; paths.len()];
    let mut work = Vec::new();
    for (at, leads) in out.iter_mut().enumerate() {
        *leads = stops(at);
        for m in paths.moves(at) {
            match m.next {
                Next::State(next) => into[next].push(at as u32),
                Next::End => *leads = true,
            }
        }
        if *leads {
            work.push(at);
        }
    }
    while let Some(at) = work.pop() {
        for before in &into[at] {
            let before = *before as usize;
            if !std::mem::replace(&mut out[before], true) {
                work.push(before);
            }
        }
    }
    out
}

/// The strongly connected states among those that `within` lets in, each sorted, nearest first.
fn components(paths: &Paths, within: impl Fn(StateAt) -> bool) -> Vec<Vec<StateAt>> {
    let mut graph: DiGraph<(), ()> = DiGraph::with_capacity(paths.len(), paths.len() * 2);
    for _ in 0..paths.len() {
        graph.add_node(());
    }
    for at in (0..paths.len()).filter(|s| within(*s)) {
        for next in paths.moves(at).filter_map(|m| state(m.next)).filter(|n| within(*n)) {
            graph.add_edge(NodeIndex::new(at), NodeIndex::new(next), ());
        }
    }
    // Kosaraju's, since petgraph's Tarjan recurses once per state of a long way.
    let mut components: Vec<Vec<StateAt>> = kosaraju_scc(&graph)
        .into_iter()
        .filter(|scc| scc.len() > 1 || graph.contains_edge(scc[0], scc[0]))
        .map(|scc| scc.into_iter().map(NodeIndex::index).collect())
        .collect();
    for component in &mut components {
        component.sort_unstable();
    }
    components.sort_unstable();
    components
}

fn ring(paths: &Paths, states: &[StateAt]) -> Option<Ring> {
    let entry = *states.first()?;
    let steps = states.iter().map(|s| paths.step(*s)).collect();
    Some(Ring { steps, entry, away: paths.depth(entry), round: round(paths, states, entry)? })
}

/// The shortest way from a state back to itself within these states.
fn round(paths: &Paths, within: &[StateAt], entry: StateAt) -> Option<Vec<(StateAt, Via)>> {
    let mut from: BTreeMap<StateAt, (StateAt, Via)> = BTreeMap::new();
    let mut queue = VecDeque::from([entry]);
    while let Some(at) = queue.pop_front() {
        for m in paths.moves(at) {
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

/// The state that a move leads to.
pub fn state(next: Next) -> Option<StateAt> {
    match next {
        Next::State(at) => Some(at),
        Next::End => None,
    }
}
