//! Expected minutes and best order of one procedure, before and after.
//!
//! In: the procedure on both sides. Out: [`Change`]s, each with the vehicles for which it is the same.

use std::collections::BTreeMap;

use super::change::{Change, Kind};
use super::side::Held;
use crate::graph::{self, Analysis, Bounds};
use crate::model::Procedure;
use crate::order::best::Effort;
use crate::order::named::Named;
use crate::order::weigh::{Weighed, weigh};

/// Enough to prove most orders; past it an estimate, said as "about".
const EFFORT: Effort = Effort { guess: 50_000, search: 100_000, long_search: 200_000, table: true, nodes: 20_000 };

/// What is said of one vehicle: minutes as written, the best order, and its minutes.
type Said = [String; 3];

/// The kind and subject of each.
const SUBJECTS: [(Kind, &str); 3] = [
    (Kind::Minutes, "expected minutes as written"),
    (Kind::Order, "best order"),
    (Kind::Minutes, "expected minutes in the best order"),
];

/// Compares on every vehicle that both apply to.
pub fn compare(old: Held<'_>, new: Held<'_>) -> Vec<Change> {
    let (a, b) = (Figures::of(old), Figures::of(new));
    let both: Vec<&String> = a.0.keys().filter(|vehicle| b.0.contains_key(*vehicle)).collect();
    let mut out = Vec::new();
    for (at, (kind, subject)) in SUBJECTS.into_iter().enumerate() {
        let mut found: BTreeMap<(&str, &str), Vec<String>> = BTreeMap::new();
        for vehicle in &both {
            let (was, is) = (&a.0[*vehicle][at], &b.0[*vehicle][at]);
            if was != is {
                found.entry((was, is)).or_default().push((*vehicle).clone());
            }
        }
        for ((was, is), vehicles) in found {
            let vehicles = if vehicles.len() == both.len() { Vec::new() } else { vehicles };
            out.push(Change::turned(kind, subject, was, is).on(vehicles));
        }
    }
    out
}

/// By vehicle.
struct Figures(BTreeMap<String, Said>);

impl Figures {
    fn of(held: Held<'_>) -> Self {
        let (base, procedure) = (held.base(), held.procedure);
        let analysis = graph::analyse(base, procedure, Bounds::default());
        let mut figures = BTreeMap::new();
        for (class, _) in &analysis.classes {
            let said = said(&analysis, procedure, class.one);
            for vehicle in base.vehicle_ids(&class.vehicles) {
                figures.insert(vehicle, said.clone());
            }
        }
        Self(figures)
    }
}

fn said(analysis: &Analysis<'_>, procedure: &Procedure, vehicle: crate::model::VehicleIx) -> Said {
    let unknown = || "not worked out".to_owned();
    let Some(weighed) = weigh(analysis, vehicle, EFFORT) else { return [unknown(), unknown(), unknown()] };
    let written = weighed.written.as_ref().map_or_else(unknown, |w| round(w.minutes));
    let (order, minutes) = best(procedure, &weighed).unwrap_or_else(|| (unknown(), unknown()));
    [written, order, minutes]
}

fn best(procedure: &Procedure, weighed: &Weighed) -> Option<(String, String)> {
    let (best, order) = (weighed.best.as_ref().ok()?, weighed.order()?);
    let mut steps = Vec::new();
    collect(&order, &mut steps);
    let names: Vec<&str> = steps.into_iter().map(|s| procedure.steps.id(s)).collect();
    let order = if names.is_empty() { "no test".to_owned() } else { names.join(", ") };
    let about = if best.exact { "" } else { "about " };
    Some((order, format!("{about}{}", round(best.figures.minutes))))
}

/// Steps in the order in which they are first met.
fn collect(order: &Named, steps: &mut Vec<crate::model::StepIx>) {
    let (step, next): (_, Vec<&Named>) = match order {
        Named::Stop(_) => return,
        Named::All { steps: all, .. } => {
            let more: Vec<crate::model::StepIx> = all.iter().filter(|step| !steps.contains(*step)).copied().collect();
            steps.extend(more);
            return;
        }
        Named::Do(step, then) => (*step, vec![then]),
        Named::Ask { step, results, .. } => (*step, results.iter().map(|a| &a.next).collect()),
    };
    if !steps.contains(&step) {
        steps.push(step);
    }
    for tree in next {
        collect(tree, steps);
    }
}

/// A tenth of a minute is as fine as a reviewer reads.
fn round(minutes: f64) -> String {
    format!("{minutes:.1}")
}
