//! Which hazards a step meets, and why.
//!
//! In: a step of a procedure. Out: [`There`]: every hazard that something brings to the step, with what brings it; of
//! these the step meets all that neither it nor one of its setups keeps away from.

use super::{Base, EquipmentIx, Hazard, HazardIx, Procedure, Set, SetupIx, Step, SystemIx};
use crate::source::Span;

/// What brings a hazard to a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HazardFrom {
    /// The procedure's `hazards`.
    Procedure,
    /// The procedure's system.
    System(SystemIx),
    /// A setup that the step names.
    Setup(SetupIx),
    /// The shared check that the step uses.
    Check,
    /// An instrument in `with` (any alternative).
    Equipment(EquipmentIx),
    /// The step's own `hazards`.
    Step,
}

/// A hazard that something brings to a step.
#[derive(Clone, Copy, Debug)]
pub struct There {
    /// The hazard.
    pub hazard: HazardIx,
    /// What brings it.
    pub from: HazardFrom,
    /// Where that is named: in the procedure, or in the check's file where the check names it.
    pub span: Span,
}

impl Base {
    /// Whether every table that brings hazards to steps, or lifts them, could be read: else what a step meets is not known.
    pub fn knows_hazards(&self) -> bool {
        ["hazards.yaml", "setups.yaml", "equipment.yaml", "systems", "checks"].iter().all(|t| !self.broken.contains(*t))
    }

    /// Every hazard that something brings to the step, before any `away-from`: procedure, system, setups, check,
    /// equipment, the step itself. Setups count that the step itself names.
    pub fn hazards_there(&self, procedure: &Procedure, step: &Step) -> Vec<There> {
        let mut there = Vec::new();
        for hazard in &procedure.hazards {
            there.push(There { hazard: hazard.value, from: HazardFrom::Procedure, span: hazard.span });
        }
        if let Some(system) = &procedure.system {
            let from = HazardFrom::System(system.value);
            let hazards = self.systems[system.value].hazards.iter();
            there.extend(hazards.map(|h| There { hazard: h.value, from, span: system.span }));
        }
        for setup in &step.shared.setup {
            let from = HazardFrom::Setup(setup.value);
            let hazards = self.setups[setup.value].hazards.iter();
            there.extend(hazards.map(|h| There { hazard: h.value, from, span: setup.span }));
        }
        for with in &step.shared.with {
            for one in &with.value {
                let from = HazardFrom::Equipment(*one);
                let hazards = self.equipment[*one].hazards.iter();
                there.extend(hazards.map(|h| There { hazard: h.value, from, span: with.span }));
            }
        }
        for hazard in &step.shared.hazards {
            let from = if hazard.span.file == procedure.file { HazardFrom::Step } else { HazardFrom::Check };
            there.push(There { hazard: hazard.value, from, span: hazard.span });
        }
        there
    }

    /// Hazards that the step or one of its setups keeps away from.
    pub fn hazards_kept_away(&self, step: &Step) -> Set<Hazard> {
        let setups = step.shared.setup.iter().flat_map(|s| &self.setups[s.value].away_from);
        step.shared.away_from.iter().chain(setups).map(|h| h.value).collect()
    }

    /// Hazards that the step meets, in the order of what brings them; one that several bring comes several times.
    pub fn hazards_met(&self, procedure: &Procedure, step: &Step) -> Vec<There> {
        let away = self.hazards_kept_away(step);
        self.hazards_there(procedure, step).into_iter().filter(|t| !away.contains(t.hazard)).collect()
    }
}
