//! Decision graphs and possible paths. It answers, it has no opinion.
//!
//! In: the base and one procedure. Out: an [`Analysis`]: the arrows, the vehicle classes, and per class every possible path.

pub mod arrows;
pub mod classes;
mod code;
pub mod explore;
pub mod export;
mod live;
pub mod paths;
pub mod rings;
pub mod undos;
pub mod witness;

use std::sync::Arc;

use crate::model::{Base, Procedure, Set, StepIx, Vehicle};
use arrows::Arrows;
use classes::Class;
use paths::Paths;

/// Limits of the exploration.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Most states per procedure and vehicle class.
    pub states: usize,
    /// Most states that all classes of one procedure together keep; once they are used up, each further class has the rest, at
    /// least [`Bounds::LEAST`]. It keeps two hundred vehicles that agree on nothing within memory.
    pub together: usize,
}

impl Bounds {
    /// What every class may use, however many there are.
    pub const LEAST: usize = 5_000;
}

impl Default for Bounds {
    fn default() -> Self {
        Self { states: 200_000, together: 1_000_000 }
    }
}

/// All that is known of the ways through one procedure.
pub struct Analysis<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// The procedure.
    pub procedure: &'a Procedure,
    /// The arrows, whether possible or not.
    pub arrows: Arrows,
    /// Per class of vehicles: the class and its possible paths, which classes that differ in nothing but the amounts of their
    /// limits share. Empty where the procedure is not sound.
    pub classes: Vec<(Class, Arc<Paths>)>,
}

impl Analysis<'_> {
    /// Whether every possible path was followed, on all classes.
    pub fn is_exact(&self) -> bool {
        self.classes.iter().all(|(_, paths)| paths.is_exact())
    }

    /// The classes whose jobs go the same ways, by the first of them, each time with the vehicles of all.
    pub fn alike(&self) -> Vec<(&Class, &Arc<Paths>, Set<Vehicle>)> {
        let mut alike: Vec<(&Class, &Arc<Paths>, Set<Vehicle>)> = Vec::new();
        for (class, paths) in &self.classes {
            match alike.iter_mut().find(|(_, known, _)| Arc::ptr_eq(known, paths)) {
                Some((.., vehicles)) => *vehicles = vehicles.or(&class.vehicles),
                None => alike.push((class, paths, class.vehicles.clone())),
            }
        }
        alike
    }

    /// The vehicles that have a possible path into a step; past the limit not all of them.
    pub fn vehicles_at(&self, step: StepIx) -> Set<Vehicle> {
        self.classes.iter().filter(|(_, p)| p.enters(step)).fold(Set::new(), |all, (c, _)| all.or(&c.vehicles))
    }

    /// The vehicles that may have one: without those that certainly have none.
    pub fn vehicles_perhaps_at(&self, step: StepIx) -> Set<Vehicle> {
        self.classes.iter().filter(|(_, p)| p.may_enter(step)).fold(Set::new(), |all, (c, _)| all.or(&c.vehicles))
    }

    /// Whether some possible path enters a step; past the limit "no" is not certain.
    pub fn enters(&self, step: StepIx) -> bool {
        self.classes.iter().any(|(_, p)| p.enters(step))
    }

    /// Whether some possible path enters a step; past the limit "yes" is not certain.
    pub fn may_enter(&self, step: StepIx) -> bool {
        self.classes.iter().any(|(_, p)| p.may_enter(step))
    }
}

/// Analyses one procedure. One that is not sound has arrows only.
pub fn analyse<'a>(base: &'a Base, procedure: &'a Procedure, bounds: Bounds) -> Analysis<'a> {
    let classes = if procedure.sound { classes::classes(base, procedure) } else { Vec::new() };
    let mut left = bounds.together;
    let mut explored: Vec<(Class, Arc<Paths>)> = Vec::with_capacity(classes.len());
    for class in classes {
        let alike = explored.iter().find(|(other, _)| other.walks_like(&class)).map(|(_, paths)| Arc::clone(paths));
        let paths = alike.unwrap_or_else(|| {
            let limit = bounds.states.min(left.max(Bounds::LEAST));
            let paths = explore::explore(procedure, &class, limit);
            left = left.saturating_sub(paths.len());
            Arc::new(paths)
        });
        explored.push((class, paths));
    }
    Analysis { base, procedure, arrows: Arrows::new(base, procedure), classes: explored }
}
