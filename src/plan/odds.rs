//! Odds of the causes and expected minutes, per group of vehicles where they differ.
//!
//! In: a procedure, and its analysis. Out: columns of odds, and minutes. The figures are [`order`](crate::order)'s; here they are
//! rounded and put in groups.

use super::frame::Frame;
use super::page::Link;
use crate::graph::Analysis;
use crate::model::{Cause, Procedure, Set, Vehicle};
use crate::order::shares::Odds;
use crate::order::written::written;

/// Vehicles that have the same causes, in file order.
fn groups(procedure: &Procedure) -> Vec<(Set<Cause>, Set<Vehicle>)> {
    let mut groups: Vec<(Set<Cause>, Set<Vehicle>)> = Vec::new();
    for vehicle in procedure.applies.iter() {
        let causes = procedure.causes_on(vehicle);
        match groups.iter_mut().find(|(known, _)| *known == causes) {
            Some((_, set)) => set.insert(vehicle),
            None => groups.push((causes, Set::one(vehicle))),
        }
    }
    groups
}

/// The columns of the odds (one, or one per group of vehicles that have other causes), and each cause's odds in them, in
/// written order; nothing where the group does not have the cause.
pub fn odds(frame: &Frame<'_>, procedure: &Procedure) -> (Vec<Link>, Vec<Vec<Option<String>>>) {
    let groups = groups(procedure);
    let alone = groups.len() <= 1;
    let mut columns = Vec::new();
    let mut rows: Vec<Vec<Option<String>>> = procedure.causes.indexes().map(|_| Vec::new()).collect();
    for (causes, vehicles) in groups {
        let column = Link::text("Odds");
        columns.push(if alone { column } else { column.more(frame.vehicle_titles(&vehicles)).on(frame.on(&vehicles)) });
        let odds = vehicles.first().map(|vehicle| Odds::new(procedure, vehicle));
        for (ix, row) in procedure.causes.indexes().zip(&mut rows) {
            let share = odds.as_ref().and_then(|odds| odds.odds.get(odds.position(ix)?).copied());
            row.push(share.filter(|_| causes.contains(ix)).map(percent));
        }
    }
    (columns, rows)
}

/// Expected minutes: one saying, or one per group of vehicles where they differ. Nothing where it is not sound or too involved.
pub fn minutes(frame: &Frame<'_>, analysis: &Analysis<'_>) -> Vec<Link> {
    let mut groups: Vec<(String, Set<Vehicle>)> = Vec::new();
    for (class, paths) in &analysis.classes {
        let odds = Odds::new(analysis.procedure, class.one);
        let Some(weighed) = written(analysis.base, analysis.procedure, paths, &odds) else { return Vec::new() };
        // Where no test has minutes nothing is known, which is not the same as quick.
        if weighed.minutes == 0.0 {
            return Vec::new();
        }
        let text = if weighed.minutes < 0.5 { "under 1 min".to_owned() } else { format!("{:.0} min", weighed.minutes) };
        match groups.iter_mut().find(|(known, _)| *known == text) {
            Some((_, set)) => *set = set.or(&class.vehicles),
            None => groups.push((text, class.vehicles.clone())),
        }
    }
    let alone = groups.len() == 1;
    let link = |(text, set): (String, Set<Vehicle>)| {
        let link = Link::text(text);
        if alone { link } else { link.more(frame.vehicle_titles(&set)).on(frame.on(&set)) }
    };
    groups.into_iter().map(link).collect()
}

fn percent(part: f64) -> String {
    let hundred = part * 100.0;
    if hundred > 0.0 && hundred < 0.5 { "under 1 %".into() } else { format!("{hundred:.0} %") }
}
