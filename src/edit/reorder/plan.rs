//! The steps of the new procedure.
//!
//! In: one order for all vehicles. Out: [`Plan`]: steps with what their results lead to; then, with what was found by trial, [`Laid`]: the
//! same with ids, and what every way to each step passes.

use std::collections::BTreeMap;

use petgraph::algo::dominators::simple_fast;
use petgraph::graph::{DiGraph, NodeIndex};

use super::merge::{Answer, Order, silent};
use super::{At, Lacking, OnClass, Trims};
use crate::graph::classes::{Class, Meets};
use crate::graph::paths::Via;
use crate::model::{Cause, CauseIx, Kind, Outcome, Procedure, Set, StepIx, Vehicle, Way};
use crate::order::written::last_resort;
use crate::quantity::CellSet;

/// Where a result leads in the new procedure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum To {
    /// As a result of the old procedure does: an ending.
    As(StepIx, usize),
    /// The same, though these causes are left of all that are told apart here; a verdict on them where no other way has one.
    Kept(StepIx, usize, Vec<CauseIx>),
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
        /// Per result in written order, what it says.
        results: Vec<Said>,
    },
    /// The vehicles part.
    Which(Vec<(Set<Vehicle>, To)>),
}

/// What a result says in the new procedure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// Where it leads.
    pub to: To,
    /// The causes that it rules out.
    pub out: Set<Cause>,
}

/// The steps of the order, each after all that it leads to; the last is the start.
#[derive(Clone, Debug)]
pub struct Plan {
    rows: Vec<Row>,
}

impl Plan {
    /// Makes steps of an order. Nothing where it holds no step.
    pub fn new(procedure: &Procedure, classes: &[OnClass<'_>], order: &Order) -> Option<Plan> {
        let mut planning = Planning { procedure, classes, rows: Vec::new() };
        let causes = classes.iter().fold(Set::new(), |all, one| all.or(&one.class.causes));
        let vehicles = classes.iter().fold(Set::new(), |all, one| all.or(&one.class.vehicles));
        let listed = procedure.no_fault().map_or_else(Set::new, Set::one);
        let start =
            planning.step(order, &Here { left: causes.minus(&listed), vehicles, ended: None, way: Vec::new() })?;
        // the start is the last row: nothing leads back to it
        debug_assert_eq!(start, At::Main(planning.rows.len() - 1));
        Some(Plan { rows: planning.rows })
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
        // a result that is left out leads nowhere
        let kept = |(result, to): (usize, Option<At>)| to.filter(|_| !trims.dead.contains(&(at, result)));
        let mut next: Vec<At> = ways(&self.row(procedure, at)).into_iter().enumerate().filter_map(kept).collect();
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
            for to in ways(&self.row(procedure, at)).into_iter().flatten() {
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

/// Steps in the making.
struct Planning<'a> {
    procedure: &'a Procedure,
    classes: &'a [OnClass<'a>],
    rows: Vec<Row>,
}

/// What is known at a place of the order.
#[derive(Clone)]
struct Here<'a> {
    /// Listed causes left.
    left: Set<Cause>,
    /// The vehicles that come here.
    vehicles: Set<Vehicle>,
    /// An ending of the old procedure that was passed on the way, since the order goes on there.
    ended: Option<&'a Way>,
    /// The steps on the way, with their results.
    way: Vec<(StepIx, Option<usize>)>,
}

impl Here<'_> {
    /// The readings of a test's key that are possible on a class once the test has a result; nothing where none is known.
    fn readings(&self, class: &Class, step: StepIx, result: usize) -> Option<CellSet> {
        let Meets::Test { key, takes } = &class.meets[step.raw()] else { return None };
        let mut cells = class.keys[*key].1.all();
        for (before, result) in &self.way {
            if let (Meets::Test { key: other, takes }, Some(result)) = (&class.meets[before.raw()], result)
                && other == key
            {
                cells = cells.intersect(&takes[*result]);
            }
            if class.forgets[before.raw()].contains(*key) {
                cells = class.keys[*key].1.all();
            }
        }
        Some(cells.intersect(takes.get(result)?))
    }
}

impl<'a> Planning<'a> {
    fn step(&mut self, order: &Order, here: &Here<'a>) -> Option<At> {
        let row = match order {
            Order::Stop(_) => return None,
            Order::Do(step, then) => {
                let mut there = here.clone();
                there.way.push((*step, None));
                Row::Do(*step, self.step(then, &there).map_or(To::Contradiction, To::Step))
            }
            Order::Ask { step, taken, results } => self.ask((*step, *taken), results, here),
            Order::Which(parts) => {
                let part = |(vehicles, causes, order): &(Set<Vehicle>, Set<Cause>, Order)| {
                    let there = Here { left: here.left.and(causes), vehicles: vehicles.clone(), ..here.clone() };
                    let to = match self.step(order, &there) {
                        Some(at) => To::Step(at),
                        None if there.left.is_empty() => To::Contradiction,
                        None => To::Found(there.left.iter().collect()),
                    };
                    (vehicles.clone(), to)
                };
                Row::Which(parts.iter().map(part).collect())
            }
        };
        Some(self.place(row))
    }

    /// The place of a row, the same for equal rows.
    fn place(&mut self, row: Row) -> At {
        let known = self.rows.iter().position(|known| *known == row);
        At::Main(known.unwrap_or_else(|| {
            self.rows.push(row);
            self.rows.len() - 1
        }))
    }

    fn ask(&mut self, (step, taken): (StepIx, bool), results: &[Answer], here: &Here<'a>) -> Row {
        let silent = self.silent(step, here).and(&here.left);
        let row = &self.procedure.steps[step];
        let said = |(at, result): (usize, &'a Outcome)| {
            let answer = results.iter().find(|answer| answer.result == at);
            let out = self.ruled_out(step, at, answer, &silent, here);
            let left = match result.way {
                Way::Shows(cause) if here.left.contains(cause) => Set::one(cause),
                _ => here.left.minus(&out),
            };
            // where nothing is left the order may still ask what costs nothing
            let goes_on = answer.filter(|answer| !left.is_empty() && !matches!(answer.next, Order::Stop(_)));
            let is_end = matches!(result.way, Way::Refer(_) | Way::Unproven(_) | Way::Jump(_) | Way::Normal(_));
            let ended = if is_end { Some(&result.way) } else { here.ended };
            let shown = self.come(here).filter(|class| class.shows(step, at));
            let vehicles = shown.fold(Set::new(), |all, class| all.or(&class.vehicles));
            let mut way = here.way.clone();
            way.push((step, Some(at)));
            let there = Here { left, vehicles, ended, way };
            let to = match (&result.way, goes_on) {
                (Way::Shows(cause), _) if here.left.contains(*cause) => To::As(step, at),
                (_, Some(answer)) => self.step(&answer.next, &there).map_or(To::Contradiction, To::Step),
                (Way::Shows(_), _) if there.left.is_empty() || !self.arrive(answer) => To::Contradiction,
                _ => self.end(step, at, answer, &there),
            };
            Said { to, out }
        };
        Row::Ask { step, taken, results: row.results.iter().enumerate().map(said).collect() }
    }

    /// The classes of vehicles that come to a place.
    fn come(&self, here: &Here<'_>) -> impl Iterator<Item = &'a Class> {
        let vehicles = here.vehicles.clone();
        self.classes.iter().map(|one| one.class).filter(move |class| class.vehicles.meets(&vehicles))
    }

    /// The causes of which a test says nothing on the vehicles that come here.
    fn silent(&self, step: StepIx, here: &Here<'_>) -> Set<Cause> {
        self.come(here).fold(Set::new(), |all, class| all.or(&silent(self.procedure, class, step)))
    }

    /// What a result rules out in the new procedure, with what other tests of the same reading then show; less what a test says
    /// nothing of, but where `normal` must be proven and no listed cause comes.
    fn ruled_out(
        &self,
        step: StepIx,
        at: usize,
        answer: Option<&Answer>,
        silent: &Set<Cause>,
        here: &Here<'_>,
    ) -> Set<Cause> {
        let count = self.procedure.causes.len();
        let results = &self.procedure.steps[step].results;
        let ends = |r: &Outcome| last_resort(&r.way, false);
        let mut all = match results[at].way {
            Way::Shows(cause) if !here.left.contains(cause) => results[at].excludes(count),
            _ => results[at].rules_out(count),
        };
        if matches!(results[at].way, Way::Shows(cause) if here.left.contains(cause)) {
            return all.minus(silent);
        }
        let proves = matches!(results[at].way, Way::Normal(_)) && !results.iter().all(ends);
        if !proves || self.arrive(answer) {
            all = all.minus(silent);
        }
        for (other, _) in answer.map_or(&[][..], |answer| &answer.also) {
            all = all.or(&self.implied(step, at, *other, here));
        }
        all
    }

    /// What another test of the same reading rules out once a result is seen: what all of its results do that are possible then.
    fn implied(&self, step: StepIx, at: usize, other: StepIx, here: &Here<'_>) -> Set<Cause> {
        let count = self.procedure.causes.len();
        let on = |class: &Class| {
            let cells = here.readings(class, step, at)?;
            let Meets::Test { takes, .. } = &class.meets[other.raw()] else { return None };
            let results = &self.procedure.steps[other].results;
            let possible = results.iter().zip(takes).filter(|(_, takes)| takes.meets(&cells));
            let out = possible.fold(Set::all(count), |all, (result, _)| all.and(&result.excludes(count)));
            Some(out.minus(&silent(self.procedure, class, other)))
        };
        let shown = self.come(here).filter(|class| class.shows(step, at));
        shown.fold(Set::all(count), |all, class| {
            let elsewhere = Set::all(count).minus(&class.causes);
            all.and(&on(class).unwrap_or_default().or(&elsewhere))
        })
    }

    /// How a result ends at which the order stops. Where some vehicles have a cause left there and others have none, they part.
    fn end(&mut self, step: StepIx, at: usize, answer: Option<&Answer>, here: &Here<'a>) -> To {
        let here = |some: bool| {
            let classes = self.come(here).filter(|class| class.causes.meets(&here.left) == some);
            let vehicles = classes.fold(Set::new(), |all, class| all.or(&class.vehicles));
            Here { left: if some { here.left.clone() } else { Set::new() }, vehicles, ..here.clone() }
        };
        let (some, none) = (here(true), here(false));
        match (some.vehicles.is_empty(), none.vehicles.is_empty()) {
            (_, true) => self.ending(step, at, answer, &some),
            (true, false) => self.ending(step, at, answer, &none),
            (false, false) => {
                let ends = [some, none].map(|here| (self.ending(step, at, answer, &here), here.vehicles));
                let [(one, these), (other, those)] = ends;
                if one == other { one } else { To::Step(self.place(Row::Which(vec![(these, one), (those, other)]))) }
            }
        }
    }

    /// Whether a listed cause comes to a result in the order.
    fn arrive(&self, answer: Option<&Answer>) -> bool {
        answer.is_some_and(|answer| answer.next.leaves(&|cause| Some(cause) != self.procedure.no_fault()))
    }

    /// How a result ends at which the order stops.
    fn ending(&self, step: StepIx, at: usize, answer: Option<&Answer>, here: &Here<'_>) -> To {
        let way = &self.procedure.steps[step].results[at].way;
        let shown = self.arrive(answer);
        let left = || here.left.iter().collect();
        if last_resort(way, false) && shown && !here.left.is_empty() {
            // as written nothing of this was left there: the ending says nothing of it
            let met = self.classes.iter().any(|o| o.paths.ever_left_after(step, Via::Result(at)).meets(&here.left));
            return if met { To::Kept(step, at, left()) } else { To::Found(left()) };
        }
        match (way, here.ended) {
            (Way::Normal(text), _) if !here.left.is_empty() => To::Unproven(text.clone()),
            (Way::Refer(_) | Way::Unproven(_) | Way::Jump(_) | Way::Normal(_), _) => To::As(step, at),
            _ if here.left.is_empty() => {
                if answer.is_some() {
                    To::Normal
                } else {
                    To::Contradiction
                }
            }
            // what is left was not ruled out where an earlier result ended
            (_, Some(Way::Unproven(text) | Way::Normal(text))) if !shown => To::Unproven(text.clone()),
            (_, Some(Way::Refer(text))) if !shown => To::HandOver(text.clone()),
            (Way::Found(causes), _) if causes.iter().copied().collect::<Set<Cause>>() == here.left => To::As(step, at),
            (Way::FoundLeft, _) => To::As(step, at),
            _ => To::Found(left()),
        }
    }
}

/// Per result of a row, the step that it leads to.
fn ways(row: &Row) -> Vec<Option<At>> {
    let at = |to: &To| match to {
        To::Step(at) => Some(*at),
        _ => None,
    };
    match row {
        Row::Do(_, to) => vec![at(to)],
        Row::Ask { results, .. } => results.iter().map(|said| at(&said.to)).collect(),
        Row::Which(parts) => parts.iter().map(|(_, to)| at(to)).collect(),
    }
}

/// A step as it stands in the old procedure.
fn aside(procedure: &Procedure, step: StepIx) -> Row {
    let row = &procedure.steps[step];
    let to = |(at, result): (usize, &Outcome)| match result.way {
        Way::Then(to) => To::Step(At::Aside(to)),
        _ => To::As(step, at),
    };
    let mut ways = row.results.iter().enumerate().map(to);
    if matches!(row.kind, Kind::Do(_)) {
        return Row::Do(step, ways.next().unwrap_or(To::Contradiction));
    }
    let out = row.results.iter().map(|r| r.rules_out(procedure.causes.len()));
    Row::Ask { step, taken: false, results: ways.zip(out).map(|(to, out)| Said { to, out }).collect() }
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

    /// Per id, that of the old step.
    pub fn origins(&self, procedure: &Procedure) -> BTreeMap<String, String> {
        let old = |row: &Row| match row {
            Row::Do(step, _) | Row::Ask { step, .. } => Some(procedure.steps.id(*step).to_owned()),
            Row::Which(_) => None,
        };
        self.rows.iter().filter_map(|(_, id, row)| Some((id.clone(), old(row)?))).collect()
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
