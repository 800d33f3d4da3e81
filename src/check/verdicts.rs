//! How possible paths come to an ending.
//!
//! In: one procedure. Out: per result (or `without`) that ends it, the ways in which it is reached: what is left then, on
//! which vehicles, by which path. The evidence rules only word what stands here.

use crate::finding::PathStep;
use crate::graph::paths::{Next, StateAt, Via, way_of};
use crate::graph::witness;
use crate::model::{Cause, Set, StepIx, Vehicle, Way};
use crate::source::Span;

use super::rule::Unit;

/// One way of reaching an ending.
#[derive(Clone, Debug)]
pub struct Arrival {
    /// Listed causes left, the ending's own evidence counted; `no-fault` left out.
    pub left: Set<Cause>,
    /// The vehicles.
    pub vehicles: Set<Vehicle>,
    /// Steps on the way.
    pub path_len: usize,
    class: usize,
    state: StateAt,
    via: Via,
}

impl Arrival {
    /// The way as a column.
    pub fn path(&self, unit: &Unit<'_>) -> Vec<PathStep> {
        let (_, paths) = &unit.analysis.classes[self.class];
        witness::column_through(unit.procedure, paths, self.state, self.via)
    }
}

/// An ending that some possible path reaches.
#[derive(Debug)]
pub struct Verdict<'a> {
    /// The step.
    pub step: StepIx,
    /// The ending.
    pub way: &'a Way,
    /// Where the ending's value stands.
    pub span: Span,
    /// The ways in which it is reached, one per class and state.
    pub arrivals: Vec<Arrival>,
}

/// Every ending that is reached, in written order.
pub fn verdicts<'a>(unit: &Unit<'a>) -> Vec<Verdict<'a>> {
    let procedure = unit.procedure;
    let no_fault: Set<Cause> = procedure.no_fault().into_iter().collect();
    let mut found: std::collections::BTreeMap<(StepIx, Via), Vec<Arrival>> = std::collections::BTreeMap::new();
    for (at, (class, paths)) in unit.analysis.classes.iter().enumerate() {
        for (state, moves) in paths.moves.iter().enumerate() {
            for m in moves.iter().filter(|m| m.next == Next::End) {
                let arrivals = found.entry((paths.states[state].step, m.via)).or_default();
                let left = m.left.minus(&no_fault);
                arrivals.push(Arrival {
                    left,
                    vehicles: class.vehicles.clone(),
                    path_len: depth(paths, state),
                    class: at,
                    state,
                    via: m.via,
                });
            }
        }
    }
    found
        .into_iter()
        .filter_map(|((step, via), arrivals)| {
            let way = way_of(procedure, step, via)?;
            let span = match via {
                Via::Result(r) => procedure.steps[step].results[r].way_span,
                Via::Without => procedure.steps[step].without.as_ref()?.span,
            };
            Some(Verdict { step, way, span, arrivals })
        })
        .collect()
}

fn depth(paths: &crate::graph::paths::Paths, state: StateAt) -> usize {
    let mut depth = 0;
    let mut at = state;
    while let Some((before, _)) = paths.from[at] {
        depth += 1;
        at = before;
    }
    depth
}
