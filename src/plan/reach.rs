//! Which vehicles can come to a step, and which hazards it meets.
//!
//! In: a procedure. Out: by arrows alone, a set of vehicles per step; and the hazards of language.md: those of the procedure,
//! its system, the step's setups, check, equipment and its own, less the `away-from` of itself and of its setups.

use crate::model::{Base, Condition, Hazard, Procedure, Set, Step, Vehicle, Way};

/// Vehicles per step, in written order.
pub fn vehicles(procedure: &Procedure) -> Vec<Set<Vehicle>> {
    let mut come: Vec<Set<Vehicle>> = vec![Set::new(); procedure.steps.len()];
    let Some(first) = come.first_mut() else { return come };
    *first = procedure.applies.clone();
    let mut open = vec![0];
    while let Some(at) = open.pop() {
        let step = &procedure.steps[crate::model::Ix::new(at)];
        let here = come[at].clone();
        let ways = step.results.iter().map(|r| match &r.condition {
            Condition::Vehicles(set) => (&r.way, here.and(set)),
            _ => (&r.way, here.clone()),
        });
        let ways: Vec<_> = ways.chain(step.without.iter().map(|w| (&w.way, here.clone()))).collect();
        for (way, set) in ways {
            if let Way::Then(to) = way
                && !set.is_subset(&come[to.raw()])
            {
                come[to.raw()] = come[to.raw()].or(&set);
                open.push(to.raw());
            }
        }
    }
    come
}

/// Hazards that a step meets.
pub fn hazards(base: &Base, procedure: &Procedure, step: &Step) -> Set<Hazard> {
    let setups = || step.shared.setup.iter().map(|s| &base.setups[s.value]);
    let system = procedure.system.iter().flat_map(|s| base.systems[s.value].hazards.iter());
    let met = procedure
        .hazards
        .iter()
        .chain(system)
        .chain(setups().flat_map(|s| s.hazards.iter()))
        .chain(step.all_equipment().iter().flat_map(|e| base.equipment[e].hazards.iter()).collect::<Vec<_>>())
        .chain(&step.shared.hazards)
        .map(|h| h.value)
        .collect::<Set<Hazard>>();
    let away = step.shared.away_from.iter().chain(setups().flat_map(|s| s.away_from.iter())).map(|h| h.value).collect();
    met.minus(&away)
}
