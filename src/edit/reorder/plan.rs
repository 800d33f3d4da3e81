//! The steps of the new procedure.
//!
//! In: one order for all vehicles. Out: [`Plan`]: steps with what their results lead to; then, with what was found by trial, [`Laid`]: the
//! same with ids, and what every way to each step passes.

use std::collections::BTreeMap;

use petgraph::algo::dominators::simple_fast;
use petgraph::graph::{DiGraph, NodeIndex};

use super::merge::{Answer, Order};
use super::{At, Lacking, Trims};
use crate::model::{Cause, CauseIx, Outcome, Procedure, Set, StepIx, VehicleIx, Way};
use crate::order::written::last_resort;

/// Where a result leads in the new procedure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum To {
    /// As it stands: an ending of its own.
    Same,
    /// To a step.
    Step(At),
    /// A verdict: these are left.
    Found(Vec<CauseIx>),
    /// Nothing but `no-fault` is left.
    Normal,
    /// It says `normal`, and a cause is left: the words of that.
    Unproven(String),
    /// As an earlier result ended, which did not rule out what is left: its words.
    HandOver(String),
    /// It contradicts what was seen before: it points at a cause that is out, or leaves none.
    Contradiction,
}

/// One step of the order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Row {
    /// A `do`.
    Do(StepIx, To),
    /// A test.
    Ask {
        /// The step.
        step: StepIx,
        /// Its reading was taken at a step before: it takes no time.
        taken: bool,
        /// Causes left here of which no result says anything.
        silent: Vec<CauseIx>,
        /// Per result in written order, where it leads.
        ways: Vec<To>,
        /// Per result, what other tests of the same reading then show.
        also: Vec<Vec<(StepIx, usize)>>,
    },
    /// The vehicles part.
    Which(Vec<(Vec<VehicleIx>, To)>),
}

/// The steps of the order, each after all that it leads to; the last is the start.
#[derive(Clone, Debug)]
pub struct Plan {
    rows: Vec<Row>,
}

impl Plan {
    /// Makes steps of an order. Nothing where it holds no step.
    pub fn new(procedure: &Procedure, order: &Order, causes: &Set<Cause>) -> Option<Plan> {
        let mut plan = Plan { rows: Vec::new() };
        let listed = procedure.no_fault().map_or_else(Set::new, Set::one);
        let start = plan.step(procedure, order, &causes.minus(&listed), None)?;
        // the start is the last row: nothing leads back to it
        debug_assert_eq!(start, At::Main(plan.rows.len() - 1));
        Some(plan)
    }

    /// `ended`: an ending of the old procedure that was passed on the way, since the order goes on there.
    fn step(&mut self, procedure: &Procedure, order: &Order, left: &Set<Cause>, ended: Option<&Way>) -> Option<At> {
        let row = match order {
            Order::Stop(_) => return None,
            Order::Do(step, then) => {
                let to = self.step(procedure, then, left, ended).map_or(To::Contradiction, To::Step);
                Row::Do(*step, to)
            }
            Order::Ask { step, taken, results } => self.ask(procedure, (*step, *taken), results, left, ended),
            Order::Which(parts) => Row::Which(
                parts
                    .iter()
                    .map(|(vehicles, causes, order)| {
                        let left = left.and(causes);
                        let to = match self.step(procedure, order, &left, ended) {
                            Some(at) => To::Step(at),
                            None if left.is_empty() => To::Contradiction,
                            None => To::Found(left.iter().collect()),
                        };
                        (vehicles.iter().collect(), to)
                    })
                    .collect(),
            ),
        };
        let known = self.rows.iter().position(|known| *known == row);
        Some(At::Main(known.unwrap_or_else(|| {
            self.rows.push(row);
            self.rows.len() - 1
        })))
    }

    fn ask(
        &mut self,
        procedure: &Procedure,
        (step, taken): (StepIx, bool),
        results: &[Answer],
        left: &Set<Cause>,
        ended: Option<&Way>,
    ) -> Row {
        let silent = silent(procedure, step, left);
        let row = &procedure.steps[step];
        let (mut ways, mut all) = (Vec::new(), Vec::new());
        for (at, result) in row.results.iter().enumerate() {
            let answer = results.iter().find(|answer| answer.result == at);
            let also = answer.map_or_else(Vec::new, |answer| answer.also.clone());
            let after = match result.way {
                Way::Shows(cause) => Set::one(cause),
                _ => left.minus(&ruled_out(procedure, step, result, &also, &silent)),
            };
            let goes_on = answer.map(|a| &a.next).filter(|order| !matches!(order, Order::Stop(_)));
            let is_end = matches!(result.way, Way::Refer(_) | Way::Unproven(_) | Way::Jump(_) | Way::Normal(_));
            let ended = if is_end { Some(&result.way) } else { ended };
            ways.push(match (&result.way, goes_on) {
                (Way::Shows(cause), _) if left.contains(*cause) => To::Same,
                (Way::Shows(_), _) => To::Contradiction,
                (_, Some(order)) => self.step(procedure, order, &after, ended).map_or(To::Contradiction, To::Step),
                _ => ending(procedure, result, answer, &after, ended),
            });
            all.push(also);
        }
        Row::Ask { step, taken, silent: silent.iter().collect(), ways, also: all }
    }

    /// Gives the steps their ids, those that only a poorer bay comes to included.
    pub fn lay(&self, procedure: &Procedure, trims: &Trims) -> Laid {
        let start = At::Main(self.rows.len() - 1);
        let mut laid = Laid { rows: Vec::new(), before: BTreeMap::new() };
        let mut work = vec![start];
        let mut order: Vec<At> = Vec::new();
        while let Some(at) = work.pop() {
            if order.contains(&at) {
                continue;
            }
            order.push(at);
            let next = self.next(procedure, at, trims);
            work.extend(next.into_iter().rev());
        }
        // those of the order first, so that what stands aside never takes an id from them
        order.sort_by_key(|at| matches!(at, At::Aside(_)));
        let mut used: Vec<String> = Vec::new();
        let taken = |id: &str, used: &[String]| {
            let headings = procedure.sections.iter().filter_map(|s| s.id.as_ref());
            used.iter().any(|u| u == id)
                || procedure.causes.find(id).is_some()
                || procedure.steps.find(id).is_some()
                || headings.into_iter().any(|h| h.value == id)
        };
        for at in order {
            let wanted = self.origin(at).map_or("vehicle", |step| procedure.steps.id(step));
            let own = self.origin(at).is_some();
            let id = if own && !used.iter().any(|u| u == wanted) || !own && !taken(wanted, &used) {
                wanted.to_owned()
            } else {
                (2..=used.len() + procedure.steps.len() + procedure.causes.len() + 2)
                    .map(|n| format!("{wanted}-{n}"))
                    .find(|id| !taken(id, &used))
                    .unwrap_or_default()
            };
            used.push(id.clone());
            laid.rows.push((at, id, self.row(procedure, at)));
        }
        laid.before = self.before(procedure, &laid, trims);
        laid
    }

    fn origin(&self, at: At) -> Option<StepIx> {
        match at {
            At::Aside(step) => Some(step),
            At::Main(row) => match &self.rows[row] {
                Row::Do(step, _) | Row::Ask { step, .. } => Some(*step),
                Row::Which(_) => None,
            },
        }
    }

    fn row(&self, procedure: &Procedure, at: At) -> Row {
        match at {
            At::Main(row) => self.rows[row].clone(),
            At::Aside(step) => aside(procedure, step),
        }
    }

    /// The steps that a step leads to, in the order of its results; the way of a poorer bay last.
    fn next(&self, procedure: &Procedure, at: At, trims: &Trims) -> Vec<At> {
        let mut next: Vec<At> = steps(&self.row(procedure, at));
        next.extend(self.without(procedure, at, trims));
        next
    }

    /// Where a bay without the equipment goes on; nothing where it hands over.
    fn without(&self, procedure: &Procedure, at: At, trims: &Trims) -> Option<At> {
        let step = &procedure.steps[self.origin(at)?];
        let Way::Then(to) = step.without.as_ref()?.way else { return None };
        match trims.lacking.get(&at).copied().unwrap_or_default() {
            _ if matches!(at, At::Aside(_)) => Some(At::Aside(to)),
            Lacking::HandOver => None,
            Lacking::Copied => Some(At::Aside(to)),
            Lacking::Moved => self.nearest(procedure, at, to),
        }
    }

    /// The nearest place of a step behind another, else any.
    fn nearest(&self, procedure: &Procedure, from: At, wanted: StepIx) -> Option<At> {
        let mut seen = vec![from];
        let mut next = 0;
        while let Some(at) = seen.get(next).copied() {
            next += 1;
            for to in steps(&self.row(procedure, at)) {
                if self.origin(to) == Some(wanted) {
                    return Some(to);
                }
                if !seen.contains(&to) {
                    seen.push(to);
                }
            }
        }
        None
    }

    /// Per step, those that every way to it passes.
    fn before(&self, procedure: &Procedure, laid: &Laid, trims: &Trims) -> BTreeMap<At, Vec<At>> {
        let mut graph: DiGraph<At, ()> = DiGraph::new();
        let places: BTreeMap<At, NodeIndex> = laid.rows.iter().map(|(at, ..)| (*at, graph.add_node(*at))).collect();
        for (at, ..) in &laid.rows {
            for to in self.next(procedure, *at, trims) {
                if let Some(to) = places.get(&to) {
                    graph.add_edge(places[at], *to, ());
                }
            }
        }
        let over = simple_fast(&graph, NodeIndex::new(0));
        let passed = |node: NodeIndex| over.strict_dominators(node).into_iter().flatten().map(|n| graph[n]).collect();
        places.iter().map(|(at, node)| (*at, passed(*node))).collect()
    }
}

/// How a result ends at which the order stops.
fn ending(
    procedure: &Procedure,
    result: &Outcome,
    answer: Option<&Answer>,
    after: &Set<Cause>,
    ended: Option<&Way>,
) -> To {
    let listed = |causes: &[CauseIx]| causes.iter().any(|c| Some(*c) != procedure.no_fault());
    let shown = answer.is_some_and(|a| matches!(&a.next, Order::Stop(causes) if listed(causes)));
    match (&result.way, ended) {
        (Way::Refer(_) | Way::Unproven(_) | Way::Jump(_), _) => To::Same,
        (Way::Normal(text), _) => {
            if after.is_empty() {
                To::Same
            } else {
                To::Unproven(text.clone())
            }
        }
        _ if after.is_empty() => {
            if answer.is_some() {
                To::Normal
            } else {
                To::Contradiction
            }
        }
        // what is left was not ruled out where an earlier result ended
        (_, Some(Way::Unproven(text) | Way::Normal(text))) if !shown => To::Unproven(text.clone()),
        (_, Some(Way::Refer(text))) if !shown => To::HandOver(text.clone()),
        (Way::Found(causes), _) if causes.iter().copied().collect::<Set<Cause>>() == *after => To::Same,
        (Way::FoundLeft, _) => To::Same,
        _ => To::Found(after.iter().collect()),
    }
}

/// The steps that a row leads to.
fn steps(row: &Row) -> Vec<At> {
    let ways: Vec<&To> = match row {
        Row::Do(_, to) => vec![to],
        Row::Ask { ways, .. } => ways.iter().collect(),
        Row::Which(parts) => parts.iter().map(|(_, to)| to).collect(),
    };
    let at = |to: &To| match to {
        To::Step(at) => Some(*at),
        _ => None,
    };
    ways.into_iter().filter_map(at).collect()
}

/// A step as it stands in the old procedure.
fn aside(procedure: &Procedure, step: StepIx) -> Row {
    let row = &procedure.steps[step];
    let to = |result: &Outcome| match result.way {
        Way::Then(to) => To::Step(At::Aside(to)),
        _ => To::Same,
    };
    match row.kind {
        crate::model::Kind::Do(_) => Row::Do(step, row.results.first().map_or(To::Contradiction, to)),
        _ => Row::Ask {
            step,
            taken: false,
            silent: Vec::new(),
            ways: row.results.iter().map(to).collect(),
            also: vec![Vec::new(); row.results.len()],
        },
    }
}

/// The listed causes left of which no result of a test says anything: each rules them out, for they were out before.
fn silent(procedure: &Procedure, step: StepIx, left: &Set<Cause>) -> Set<Cause> {
    let count = procedure.causes.len();
    let row = &procedure.steps[step];
    let out = |cause: CauseIx| {
        row.results
            .iter()
            .all(|r| r.rules_out(count).contains(cause) || matches!(r.way, Way::Shows(shown) if shown != cause))
    };
    left.iter().filter(|cause| out(*cause)).collect()
}

/// What a result rules out in the new procedure, with what other tests of the same reading then show; less what the test says
/// nothing of, but at an ending that no listed cause takes.
pub fn ruled_out(
    procedure: &Procedure,
    step: StepIx,
    result: &Outcome,
    also: &[(StepIx, usize)],
    silent: &Set<Cause>,
) -> Set<Cause> {
    let count = procedure.causes.len();
    let mut all = result.rules_out(count);
    for (other, shown) in also {
        let other = &procedure.steps[*other].results[*shown];
        all = all.or(&other.rules_out(count));
        if let Way::Shows(cause) = other.way {
            all = all.or(&Set::all(count).minus(&Set::one(cause)));
        }
    }
    let ends = |r: &Outcome| last_resort(&r.way, false);
    let only = procedure.steps[step].results.iter().all(ends);
    if ends(result) && !only { all } else { all.minus(silent) }
}

/// The steps with their ids, in the order in which they are written.
#[derive(Clone, Debug)]
pub struct Laid {
    /// Each step: which it is, its id, what it does.
    pub rows: Vec<(At, String, Row)>,
    /// Per step, those that every way to it passes.
    pub before: BTreeMap<At, Vec<At>>,
}

impl Laid {
    /// The id of a step.
    pub fn id(&self, at: At) -> &str {
        self.rows.iter().find(|(a, ..)| *a == at).map_or("", |(_, id, _)| id)
    }

    /// The places of an old step.
    pub fn places(&self, step: StepIx) -> impl Iterator<Item = (At, &str)> {
        let of = move |row: &Row| matches!(row, Row::Do(s, _) | Row::Ask { step: s, .. } if *s == step);
        self.rows.iter().filter(move |(_, _, row)| of(row)).map(|(at, id, _)| (*at, id.as_str()))
    }

    /// Steps of the order whose `without` named a step.
    pub fn lacking(&self, procedure: &Procedure) -> Vec<At> {
        let names = |row: &Row| match row {
            Row::Do(step, _) | Row::Ask { step, .. } => {
                procedure.steps[*step].without.as_ref().is_some_and(|w| matches!(w.way, Way::Then(_)))
            }
            Row::Which(_) => false,
        };
        self.rows.iter().filter(|(at, _, row)| matches!(at, At::Main(_)) && names(row)).map(|(at, ..)| *at).collect()
    }

    /// Where the way of a bay that lacks a step's equipment leads.
    pub fn without(&self, plan: &Plan, procedure: &Procedure, at: At, trims: &Trims) -> Option<&str> {
        plan.without(procedure, at, trims).map(|to| self.id(to))
    }
}
