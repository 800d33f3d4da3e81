//! In: a procedure, its possible paths on one class of vehicles, the shop's bays. Out: [`BayRow`]s: the minutes of a job in each bay, and what each instrument is
//! worth there per job.

use serde::Serialize;

use super::shares::Odds;
use super::translate::Minutes;
use super::written::{Written, written_with};
use crate::graph::paths::Paths;
use crate::model::{Base, Equipment, Procedure, Set};

/// One bay.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BayRow {
    /// The bay's id.
    pub bay: String,
    /// Expected minutes with what the bay has.
    pub minutes: f64,
    /// The odds that a job there is isolated to one cause.
    pub isolated: f64,
    /// The instruments that make a difference here.
    pub equipment: Vec<EquipmentRow>,
}

/// One instrument in one bay.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EquipmentRow {
    /// The instrument's id.
    pub equipment: String,
    /// Whether the bay has it.
    pub at_hand: bool,
    /// Expected minutes with it.
    pub with: f64,
    /// Expected minutes without it.
    pub without: f64,
    /// The odds of isolating to one cause with it, and without.
    pub isolated: (f64, f64),
}

/// Weighs every bay.
pub fn bays(base: &Base, procedure: &Procedure, paths: &Paths, odds: &Odds) -> Vec<BayRow> {
    let minutes = Minutes::new(base, procedure);
    let used: Set<Equipment> = procedure.steps.iter().fold(Set::new(), |all, (_, _, s)| {
        let setups = s.shared.setup.iter().flat_map(|x| &base.setups[x.value].with);
        all.or(&s.all_equipment()).or(&setups.flat_map(|w| w.value.iter().copied()).collect())
    });
    let weigh = |has: &Set<Equipment>| written_with(base, procedure, paths, odds, &minutes, Some(has));
    base.shop.bays.iter().filter_map(|(_, id, bay)| row(base, id, &bay.has, &used, &weigh)).collect()
}

fn row(
    base: &Base,
    id: &str,
    has: &Set<Equipment>,
    used: &Set<Equipment>,
    weigh: &dyn Fn(&Set<Equipment>) -> Option<Written>,
) -> Option<BayRow> {
    let own = weigh(has)?;
    let mut equipment = Vec::new();
    for instrument in used.iter() {
        let at_hand = has.contains(instrument);
        let other =
            if at_hand { weigh(&has.minus(&Set::one(instrument)))? } else { weigh(&has.or(&Set::one(instrument)))? };
        let (with, without) = if at_hand { (&own, &other) } else { (&other, &own) };
        let differs = |a: f64, b: f64| (a - b).abs() > 1e-9;
        if differs(with.minutes, without.minutes) || differs(with.isolation[0], without.isolation[0]) {
            equipment.push(EquipmentRow {
                equipment: base.equipment.id(instrument).to_owned(),
                at_hand,
                with: with.minutes,
                without: without.minutes,
                isolated: (with.isolation[0], without.isolation[0]),
            });
        }
    }
    Some(BayRow { bay: id.to_owned(), minutes: own.minutes, isolated: own.isolation[0], equipment })
}
