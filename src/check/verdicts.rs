//! How possible paths come to an ending.
//!
//! In: one procedure. Out: each result (or `without`) that ends it, and, for a question about what is left there, the vehicles
//! and the shortest path that answer it. The evidence rules only word what stands here.

use crate::finding::PathStep;
use crate::graph::paths::{StateAt, Via, way_of};
use crate::graph::witness;
use crate::model::{Cause, Set, StepIx, Vehicle, Way};
use crate::source::Span;

use super::rule::Unit;

/// An ending of the procedure, whether a possible path reaches it or not.
#[derive(Clone, Copy, Debug)]
pub struct Verdict<'a> {
    /// The step.
    pub step: StepIx,
    /// How the step is left.
    pub via: Via,
    /// The ending.
    pub way: &'a Way,
    /// Where the ending's value stands.
    pub span: Span,
}

/// The possible paths to an ending that answer a question about what is left there.
#[derive(Clone, Debug)]
pub struct Arrivals {
    /// What the question picked out, over all of them.
    pub causes: Set<Cause>,
    /// The vehicles.
    pub vehicles: Set<Vehicle>,
    /// The shortest of them.
    pub path: Vec<PathStep>,
}

/// Every ending, in written order.
pub fn verdicts<'a>(unit: &Unit<'a>) -> impl Iterator<Item = Verdict<'a>> + use<'a> {
    let procedure = unit.procedure;
    procedure.steps.iter().flat_map(move |(step, _, row)| {
        let results = row.results.iter().enumerate().map(|(at, r)| (Via::Result(at), r.way_span));
        let without = row.without.iter().map(|w| (Via::Without, w.way_span));
        results.chain(without).filter_map(move |(via, span)| {
            let way = way_of(procedure, step, via).filter(|w| w.is_ending())?;
            Some(Verdict { step, via, way, span })
        })
    })
}

impl Verdict<'_> {
    /// The paths on which `asks` picks something out of the listed causes left (the ending's own evidence counted, `no-fault`
    /// left out); nothing where it never does. Past the limit of the exploration only paths that are certain count.
    pub fn arrivals(&self, unit: &Unit<'_>, asks: impl Fn(&Set<Cause>) -> Option<Set<Cause>>) -> Option<Arrivals> {
        let no_fault: Set<Cause> = unit.procedure.no_fault().into_iter().collect();
        let mut causes = Set::new();
        let mut vehicles = Set::new();
        let mut nearest: Option<(usize, usize, StateAt)> = None;
        for (number, (class, paths)) in unit.analysis.classes.iter().enumerate() {
            let mut met = false;
            for state in paths.at(self.step) {
                let Some(m) = paths.leaving(state, self.via) else { continue };
                let Some(picked) = asks(&paths.left_after(state, m).minus(&no_fault)) else { continue };
                causes = causes.or(&picked);
                // The states of a class stand nearest first.
                if !std::mem::replace(&mut met, true) {
                    let way = (paths.depth(state), number, state);
                    nearest = Some(nearest.map_or(way, |old| old.min(way)));
                }
            }
            if met {
                vehicles = vehicles.or(&class.vehicles);
            }
        }
        let (_, class, state) = nearest?;
        let (_, paths) = &unit.analysis.classes[class];
        Some(Arrivals { causes, vehicles, path: witness::column_through(unit.procedure, paths, state, self.via) })
    }

    /// Whether a possible path reaches it (past the limit: whether one may).
    pub fn is_reached(&self, unit: &Unit<'_>) -> bool {
        unit.analysis.classes.iter().any(|(_, paths)| paths.takes(self.step, self.via))
    }

    /// The causes, `no-fault` among them, left on some path there (past the limit: on some that may be).
    pub fn ever_left(&self, unit: &Unit<'_>) -> Set<Cause> {
        let classes = unit.analysis.classes.iter();
        classes.fold(Set::new(), |all, (_, paths)| all.or(&paths.ever_left_after(self.step, self.via)))
    }
}
