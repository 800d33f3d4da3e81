//! In: a procedure and one class of vehicles. Out: [`Translated`]: the same question without names, and whose position is whose.

use petgraph::algo::dominators::simple_fast;
use petgraph::graph::NodeIndex;

use super::problem::{Problem, Set as Bits, Setup, Step};
use super::shares::Odds;
use super::written::last_resort;
use crate::graph::arrows::{Arrows, Node};
use crate::graph::classes::{Class, Meets};
use crate::graph::paths::Paths;
use crate::model::{Base, Kind, NO_FAULT, Outcome, Procedure, Signal, Step as Row, StepIx, Way};
use crate::quantity::number::to_f64;

/// The minutes and setups of every step.
pub struct Minutes {
    /// Work and waiting; a test without minutes takes the shop's default.
    pub steps: Vec<f64>,
    /// Setups, as bits.
    pub setups: Vec<Bits>,
    /// Tests that took the default.
    pub assumed: Vec<StepIx>,
}

impl Minutes {
    /// Reads them off.
    pub fn new(base: &Base, procedure: &Procedure) -> Self {
        let default = base.shop.default_minutes.as_ref().map_or(0.0, to_f64);
        let mut all = Self { steps: Vec::new(), setups: Vec::new(), assumed: Vec::new() };
        for (at, _, step) in procedure.steps.iter() {
            let wait = step.shared.wait.as_ref().map_or(0.0, to_f64);
            let work = match &step.shared.minutes {
                Some(minutes) => to_f64(minutes),
                None if step.is_test() => {
                    all.assumed.push(at);
                    default
                }
                None => 0.0,
            };
            all.steps.push(work + wait);
            all.setups.push(step.shared.setup.iter().fold(0, |bits, s| bits | bit(s.value.raw())));
        }
        all
    }
}

/// One position as a bit; past the limit of a problem nothing (the problem is then refused as a whole).
fn bit(at: usize) -> Bits {
    if at < super::problem::LIMIT { 1 << at } else { 0 }
}

/// Every setup of the base.
pub fn setups(base: &Base) -> Vec<Setup> {
    let one = |s: &crate::model::Setup| Setup {
        minutes: s.minutes.as_ref().map_or(0.0, to_f64),
        ends: s.ends.iter().fold(0, |bits, e| bits | bit(e.value.raw())),
    };
    base.setups.iter().map(|(_, _, s)| one(s)).collect()
}

/// A procedure as a question without names.
pub struct Translated {
    /// The question.
    pub problem: Problem,
    /// The step at each position of [`Problem::steps`].
    pub steps: Vec<StepIx>,
    /// Per position, the result of each outcome.
    pub results: Vec<Vec<usize>>,
}

/// Translates the steps that a class of vehicles can come to.
pub fn translate(
    base: &Base,
    procedure: &Procedure,
    arrows: &Arrows,
    class: &Class,
    paths: &Paths,
    odds: &Odds,
) -> Translated {
    let minutes = Minutes::new(base, procedure);
    let steps: Vec<StepIx> = procedure
        .steps
        .iter()
        .filter(|(at, _, s)| paths.enters(*at) && (s.is_test() || matches!(s.kind, Kind::Do(_))))
        .map(|(at, ..)| at)
        .collect();
    let position = |at: StepIx| steps.iter().position(|s| *s == at);
    let passed = passed_dos(procedure, arrows);
    let mut translated = Translated { problem: Problem::default(), steps: steps.clone(), results: Vec::new() };
    translated.problem.weights.clone_from(&odds.weights);
    translated.problem.setups = setups(base);
    for at in &steps {
        let row = &procedure.steps[*at];
        let (outcomes, results) = outcomes(procedure, class, *at, odds);
        let after = row.after.iter().map(|a| a.value).chain(passed[at.raw()].iter().copied());
        let needs = after.filter(|a| a != at).filter_map(position).fold(0, |bits, p| bits | bit(p));
        let key = match &class.meets[at.raw()] {
            Meets::Test { key, .. } => Some(*key),
            _ => None,
        };
        let changes = crate::graph::forgotten(row, class).iter().fold(0, |bits, k| bits | bit(k));
        translated.problem.steps.push(Step {
            minutes: minutes.steps[at.raw()],
            outcomes,
            needs,
            setups: minutes.setups[at.raw()],
            key,
            changes,
            caution: is_cautious(base, procedure, row),
        });
        translated.results.push(results);
    }
    translated
}

/// Per step, the `do` steps that every path to it passes (dominators of the arrows).
fn passed_dos(procedure: &Procedure, arrows: &Arrows) -> Vec<Vec<StepIx>> {
    let Some(start) = procedure.start() else { return Vec::new() };
    let dominators = simple_fast(&arrows.graph, NodeIndex::new(start.raw()));
    procedure
        .steps
        .indexes()
        .map(|at| {
            let over = dominators.strict_dominators(NodeIndex::new(at.raw()));
            over.into_iter()
                .flatten()
                .filter_map(|n| match arrows.graph[n] {
                    Node::Step(s) if matches!(procedure.steps[s].kind, Kind::Do(_)) => Some(s),
                    _ => None,
                })
                .collect()
        })
        .collect()
}

/// The causes that each possible result of a test leaves; none for a `do`.
fn outcomes(procedure: &Procedure, class: &Class, at: StepIx, odds: &Odds) -> (Vec<Bits>, Vec<usize>) {
    let row = &procedure.steps[at];
    if !row.is_test() {
        return (Vec::new(), Vec::new());
    }
    let possible: Vec<usize> = match &class.meets[at.raw()] {
        Meets::Test { takes, .. } => (0..takes.len()).filter(|r| !takes[*r].is_empty()).collect(),
        _ => (0..row.results.len()).collect(),
    };
    let count = procedure.causes.len();
    let leaves = |result: &Outcome, cause| {
        !result.rules_out(count).contains(cause) && !matches!(result.way, Way::Shows(shown) if shown != cause)
    };
    let mut outcomes: Vec<Bits> = vec![0; possible.len()];
    for (bit_at, cause) in odds.causes.iter().enumerate() {
        let no_fault = procedure.causes.id(*cause) == NO_FAULT;
        let shown: Vec<usize> = (0..possible.len()).filter(|o| leaves(&row.results[possible[*o]], *cause)).collect();
        let fair = |o: &usize| !last_resort(&row.results[possible[*o]].way, no_fault);
        let any_fair = shown.iter().any(fair);
        for o in shown.into_iter().filter(|o| !any_fair || fair(o)) {
            outcomes[o] |= bit(bit_at);
        }
    }
    (outcomes, possible)
}

/// Dismantling (an `undo` or a setup) or dangerous (a hazard of signal danger or warning).
pub fn is_cautious(base: &Base, procedure: &Procedure, row: &Row) -> bool {
    let dismantles = row.shared.undo.is_some() || !row.shared.setup.is_empty();
    dismantles
        || base
            .hazards_met(procedure, row)
            .iter()
            .any(|there| matches!(base.hazards[there.hazard].signal, Signal::Danger | Signal::Warning))
}
