//! The order in which the steps come as written, as long as no result ends the search.
//!
//! In: a procedure's analysis. Out: [`OrderView`]s, one, or one per group of vehicles where they differ; [`FasterView`], where lint knows
//! a faster one. Nothing is searched for: it is the written order, followed by the results that lead on.

use serde::Serialize;

use super::frame::Frame;
use super::page::Link;
use crate::graph::Analysis;
use crate::graph::paths::{Next, Paths, StateAt, Via};
use crate::model::{Kind, Procedure, Set, StepIx, Vehicle};
use crate::order::shares::Odds;
use crate::order::translate::Minutes;

/// An order of steps.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OrderView {
    /// The vehicles, where others have another order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vehicles: Option<String>,
    /// Ids of these vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// The steps, each with its minutes behind it.
    pub steps: Vec<Link>,
}

/// A faster order that is known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FasterView {
    /// The vehicles that it is faster on, where not all of the procedure's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vehicles: Option<String>,
    /// Ids of these vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// One sentence in pieces: the steps as links to them.
    pub says: Vec<Link>,
}

/// The first step to move and what it saves, as the rule `slow-order` told it: no order is searched for here.
pub fn faster(frame: &Frame<'_>, procedure: &Procedure) -> Option<FasterView> {
    let finding = frame.slow_order(&procedure.id)?;
    let vehicles: Set<Vehicle> = finding.vehicles.iter().filter_map(|id| frame.base.vehicles.find(id)).collect();
    let some = !finding.vehicles.is_empty() && !procedure.applies.is_subset(&vehicles);
    // the rule sets ids between backticks
    let piece = |(at, piece): (usize, &str)| match procedure.steps.get(piece) {
        Some(step) if at % 2 == 1 => Link::to(&step.title, format!("#{piece}")),
        _ => Link::text(piece),
    };
    Some(FasterView {
        vehicles: some.then(|| frame.vehicle_titles(&vehicles)),
        on: if some { frame.on(&vehicles) } else { None },
        says: finding.message.split('`').enumerate().map(piece).filter(|link| !link.text.is_empty()).collect(),
    })
}

/// The written order on each group of vehicles. Nothing where it is not sound, too involved, or has one step only.
pub fn orders(frame: &Frame<'_>, analysis: &Analysis<'_>) -> Vec<OrderView> {
    if !analysis.is_exact() {
        return Vec::new();
    }
    let mut groups: Vec<(Vec<StepIx>, Set<Vehicle>)> = Vec::new();
    for (class, paths) in &analysis.classes {
        let order = leading_on(analysis, paths, &Odds::new(analysis.procedure, class.one));
        match groups.iter_mut().find(|(known, _)| *known == order) {
            Some((_, vehicles)) => *vehicles = vehicles.or(&class.vehicles),
            None => groups.push((order, class.vehicles.clone())),
        }
    }
    let alone = groups.len() == 1;
    let minutes = Minutes::new(analysis.base, analysis.procedure);
    let link = |step: &StepIx| {
        let (row, id) = (&analysis.procedure.steps[*step], analysis.procedure.steps.id(*step));
        let link = Link::to(&row.title, format!("#{id}"));
        // tenths are as fine as anyone plans
        let tenths = (minutes.steps[step.raw()] * 10.0).round() / 10.0;
        if tenths > 0.0 { link.more(format!("{tenths} min")) } else { link }
    };
    let view = |(order, vehicles): &(Vec<StepIx>, Set<Vehicle>)| OrderView {
        vehicles: (!alone).then(|| frame.vehicle_titles(vehicles)),
        on: if alone { None } else { frame.on(vehicles) },
        steps: order.iter().map(link).collect(),
    };
    groups.iter().filter(|(order, _)| order.len() > 1).map(view).collect()
}

/// The steps on the way on which the search goes on: at each, the result that leads to a further step and leaves the causes with the
/// greatest odds; of equal ones the first. A step that routes by vehicle is passed over.
fn leading_on(analysis: &Analysis<'_>, paths: &Paths, odds: &Odds) -> Vec<StepIx> {
    let mut order: Vec<StepIx> = Vec::new();
    let mut met: Vec<bool> = vec![false; paths.len()];
    let mut at: Option<StateAt> = (!paths.is_empty()).then_some(0);
    while let Some(state) = at.filter(|state| !met[*state]) {
        met[state] = true;
        let step = paths.step(state);
        if !matches!(analysis.procedure.steps[step].kind, Kind::Which) && !order.contains(&step) {
            order.push(step);
        }
        let mut best: Option<(f64, StateAt)> = None;
        for m in paths.moves(state).filter(|m| m.via != Via::Without) {
            let Next::State(next) = m.next else { continue };
            let left = paths.left_after(state, m);
            let mass = odds.causes.iter().zip(&odds.odds).filter(|(c, _)| left.contains(**c)).map(|(_, p)| p).sum();
            if best.is_none_or(|(most, _)| mass > most) {
                best = Some((mass, next));
            }
        }
        at = best.map(|(_, next)| next);
    }
    order
}
