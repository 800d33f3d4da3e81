//! One order of those of all classes of vehicles.
//!
//! In: the best order on each class. Out: [`Order`]: what they share stands once; where they part, the vehicles part.

use super::OnClass;
use crate::graph::classes::Class;
use crate::model::{Cause, CauseIx, Procedure, Set, StepIx, Vehicle};
use crate::order::named::Named;

/// An order of work for all vehicles.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// These causes are left.
    Stop(Vec<CauseIx>),
    /// A `do` step, then on.
    Do(StepIx, Box<Order>),
    /// A test.
    Ask {
        /// The step.
        step: StepIx,
        /// Its reading was taken at a step before.
        taken: bool,
        /// The results that have odds.
        results: Vec<Answer>,
    },
    /// The vehicles part, each with its causes.
    Which(Vec<(Set<Vehicle>, Set<Cause>, Order)>),
}

impl Order {
    /// Whether a cause of some kind is left somewhere.
    pub fn leaves(&self, wanted: &dyn Fn(CauseIx) -> bool) -> bool {
        match self {
            Order::Stop(causes) => causes.iter().any(|cause| wanted(*cause)),
            Order::Do(_, then) => then.leaves(wanted),
            Order::Ask { results, .. } => results.iter().any(|answer| answer.next.leaves(wanted)),
            Order::Which(parts) => parts.iter().any(|(_, _, order)| order.leaves(wanted)),
        }
    }
}

/// One result and the way on.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The result.
    pub result: usize,
    /// What other tests of the same reading then show.
    pub also: Vec<(StepIx, usize)>,
    /// The way on.
    pub next: Order,
}

type One<'a> = (&'a Class, &'a Named);

/// Makes one order of several.
pub fn merge(procedure: &Procedure, orders: &[OnClass<'_>]) -> Order {
    let all: Vec<One<'_>> = orders.iter().map(|one| (one.class, &one.order)).collect();
    together(procedure, &all)
}

fn together(procedure: &Procedure, all: &[One<'_>]) -> Order {
    let Some((_, first)) = all.first() else { return Order::Stop(Vec::new()) };
    match first {
        Named::Stop(_) if all.iter().all(|(_, o)| matches!(o, Named::Stop(_))) => {
            let causes = all.iter().flat_map(|(_, o)| match o {
                Named::Stop(causes) => causes.as_slice(),
                _ => &[],
            });
            let causes: Set<Cause> = causes.copied().collect();
            Order::Stop(causes.iter().collect())
        }
        Named::Do(step, _) => {
            let next: Option<Vec<One<'_>>> = all
                .iter()
                .map(|(class, o)| match o {
                    Named::Do(other, then) if other == step => Some((*class, &**then)),
                    _ => None,
                })
                .collect();
            next.map_or_else(|| apart(procedure, all), |next| Order::Do(*step, Box::new(together(procedure, &next))))
        }
        Named::Ask { step, taken, .. } => ask(procedure, (*step, *taken), all).unwrap_or_else(|| apart(procedure, all)),
        // only whole orders are written
        Named::All { left, .. } => Order::Stop(left.clone()),
        Named::Stop(_) => apart(procedure, all),
    }
}

/// A result: its index, the steps and results that it takes with it, and what follows for each class.
type Shown<'a> = (usize, &'a [(StepIx, usize)], Vec<One<'a>>);

/// One test for all; nothing where they ask another, where some lack a result that their vehicles can show, or where a result that
/// rules a cause out on some says nothing of it on others.
fn ask(procedure: &Procedure, (step, taken): (StepIx, bool), all: &[One<'_>]) -> Option<Order> {
    let mut results: Vec<Shown<'_>> = Vec::new();
    for (class, order) in all {
        let Named::Ask { step: other, taken: known, results: own } = order else { return None };
        if *other != step || *known != taken {
            return None;
        }
        for answer in own {
            match results.iter_mut().find(|(r, ..)| *r == answer.result) {
                Some((_, also, ways)) if **also == *answer.also => ways.push((class, &answer.next)),
                Some(_) => return None,
                None => results.push((answer.result, &answer.also, vec![(class, &answer.next)])),
            }
        }
    }
    let lacks = |class: &Class, ways: &[One<'_>], result: usize| {
        !ways.iter().any(|(c, _)| std::ptr::eq(*c, class)) && class.shows(step, result)
    };
    if all.len() > 1 && results.iter().any(|(result, _, ways)| all.iter().any(|(class, _)| lacks(class, ways, *result)))
    {
        return None;
    }
    let says = |class: &Class, order: &Named| (silent(procedure, class, step), order.causes());
    let said: Vec<_> = all.iter().filter(|_| all.len() > 1).map(|(class, order)| says(class, order)).collect();
    let agree = |(one, these): &(Set<Cause>, Set<Cause>), (other, those): &(Set<Cause>, Set<Cause>)| {
        let both = these.and(those);
        one.and(&both) == other.and(&both)
    };
    if said.iter().enumerate().any(|(at, one)| said[at + 1..].iter().any(|other| !agree(one, other))) {
        return None;
    }
    results.sort_by_key(|(result, ..)| *result);
    let results = results
        .into_iter()
        .map(|(result, also, ways)| Answer { result, also: also.to_vec(), next: together(procedure, &ways) })
        .collect();
    Some(Order::Ask { step, taken, results })
}

/// The causes of which no result of a test says anything on a class: each that it can show rules them out, for they were out before.
pub fn silent(procedure: &Procedure, class: &Class, step: StepIx) -> Set<Cause> {
    let count = procedure.causes.len();
    let shown = procedure.steps[step].results.iter().enumerate().filter(|(at, _)| class.shows(step, *at));
    shown.fold(class.causes.clone(), |all, (_, result)| all.and(&result.excludes(count)))
}

/// The vehicles part: those with the same order stay together.
fn apart(procedure: &Procedure, all: &[One<'_>]) -> Order {
    let mut groups: Vec<Vec<One<'_>>> = Vec::new();
    for one in all {
        match groups.iter_mut().find(|group| group[0].1 == one.1) {
            Some(group) => group.push(*one),
            None => groups.push(vec![*one]),
        }
    }
    let part = |group: Vec<One<'_>>| {
        let vehicles = group.iter().fold(Set::new(), |all, (class, _)| all.or(&class.vehicles));
        let causes = group.iter().fold(Set::new(), |all, (class, _)| all.or(&class.causes));
        (vehicles, causes, together(procedure, &group))
    };
    Order::Which(groups.into_iter().map(part).collect())
}
