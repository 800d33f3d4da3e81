//! Odds of the causes from the authored shares.
//!
//! In: a procedure and a vehicle. Out: each cause's part of the whole. The rule is language.md's: without shares all count
//! equal; a cause that lacks one gets the mean of the others.

use num_traits::Zero;

use super::frame::Frame;
use super::page::Link;
use crate::model::{CauseIx, NO_FAULT, Procedure, Set, Vehicle};
use crate::quantity::number;
use crate::quantity::{Rational, number::ratio};

/// The share of each cause of a set, in parts.
fn shares(procedure: &Procedure, causes: &Set<crate::model::Cause>) -> Vec<(CauseIx, Rational)> {
    let authored: Vec<Rational> =
        procedure.causes.iter().filter_map(|(_, _, c)| c.share.as_ref().map(|s| s.value.clone())).collect();
    // `no-fault` without a share was given none on purpose: it takes part only where it has one.
    let count = authored.len();
    let mean = if count == 0 {
        ratio(1, 1)
    } else {
        authored.into_iter().fold(Rational::zero(), |sum, s| sum + s) / ratio(count as i128, 1)
    };
    causes
        .iter()
        .filter(|ix| procedure.causes.id(*ix) != NO_FAULT || procedure.causes[*ix].share.is_some())
        .map(|ix| (ix, procedure.causes[ix].share.as_ref().map_or_else(|| mean.clone(), |s| s.value.clone())))
        .collect()
}

/// Vehicles that have the same causes, in file order.
fn groups(procedure: &Procedure) -> Vec<(Set<crate::model::Cause>, Set<Vehicle>)> {
    let mut groups: Vec<(Set<crate::model::Cause>, Set<Vehicle>)> = Vec::new();
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
        let shares = shares(procedure, &causes);
        let sum = shares.iter().fold(Rational::zero(), |sum, (_, share)| sum + share);
        for (ix, row) in procedure.causes.indexes().zip(&mut rows) {
            let share = shares.iter().find(|(cause, _)| *cause == ix).map(|(_, share)| share);
            row.push(share.map(|share| if sum.is_zero() { "0 %".to_owned() } else { percent(&(share / &sum)) }));
        }
    }
    (columns, rows)
}

fn percent(part: &Rational) -> String {
    let hundred = part * ratio(100, 1);
    if hundred.is_zero() {
        return "0 %".into();
    }
    if hundred < ratio(1, 2) { "under 1 %".into() } else { format!("{} %", number::fixed(&hundred, 0)) }
}
