//! The order in which the steps come as written, as long as no result ends the search.
//!
//! In: a procedure's analysis. Out: [`OrderView`]s, one, or one per group of vehicles where they differ; and the first step to move,
//! where lint knows a faster order. Nothing is searched for: it is the written order, followed by the results that lead on.

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
    /// The vehicles, where it is not for all of the procedure's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vehicles: Option<String>,
    /// Ids of these vehicles.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// The steps, each with its minutes behind it.
    pub steps: Vec<Link>,
}

impl OrderView {
    fn new(frame: &Frame<'_>, some: Option<&Set<Vehicle>>, steps: Vec<Link>) -> Self {
        Self { vehicles: some.map(|set| frame.vehicle_titles(set)), on: some.and_then(|set| frame.on(set)), steps }
    }
}

/// The first step to move, as the rule `slow-order` told it: no order is searched for here. Behind it stand the minutes that it saves, then
/// comes the step that it should come before; alone it is to be done only when needed.
pub fn faster(frame: &Frame<'_>, procedure: &Procedure) -> Option<OrderView> {
    let finding = frame.slow_order(&procedure.id)?;
    let saving = finding.saving.as_ref()?;
    let vehicles: Set<Vehicle> = finding.vehicles.iter().filter_map(|id| frame.base.vehicles.find(id)).collect();
    let some = !finding.vehicles.is_empty() && !procedure.applies.is_subset(&vehicles);
    let link = |id: &String| Some(Link::to(&procedure.steps.get(id)?.title, format!("#{id}")));
    let moved = link(finding.step.as_ref()?)?.more(saving.minutes.as_str());
    let before = saving.before.as_ref().and_then(link);
    Some(OrderView::new(frame, some.then_some(&vehicles), [moved].into_iter().chain(before).collect()))
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
    let view = |(order, vehicles): &(Vec<StepIx>, Set<Vehicle>)| {
        OrderView::new(frame, (!alone).then_some(vehicles), order.iter().map(link).collect())
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
