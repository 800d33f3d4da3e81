//! Vehicle classes: vehicles of a procedure that agree on limits, bands, routes and causes are analysed once.
//!
//! In: the base and one procedure. Out: [`Class`]es, each with its cells per fact key and what every result takes of them.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::live::forgets;
pub use crate::model::meaning::domain;
use crate::model::{
    Base, Cause, Condition, FactKey, Kind, Limits, Procedure, Set, Spec, SpecIx, Step, StepIx, Vehicle, VehicleIx,
};
use crate::quantity::{CellSet, Cells, Domain, Phrase, ReadingSet, SpecLimits, evaluate, limit_set};

/// Index of a fact key within its class.
pub type KeyAt = usize;

/// What is remembered under one key, on one class of vehicles.
#[derive(Clone, Debug)]
pub enum Memory {
    /// Readings, cut into cells.
    Readings(Arc<Cells>),
    /// Labels, in the order in which they were met.
    Labels(Vec<String>),
}

impl Memory {
    /// How many cells or labels.
    pub fn len(&self) -> usize {
        match self {
            Self::Readings(cells) => cells.len(),
            Self::Labels(labels) => labels.len(),
        }
    }

    /// Whether there is nothing to remember.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Every cell or label.
    pub fn all(&self) -> CellSet {
        CellSet::full(self.len())
    }
}

/// How a step meets what is remembered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meets {
    /// A test whose results take cells of a key.
    Test {
        /// The key.
        key: KeyAt,
        /// What each result takes, in written order.
        takes: Vec<CellSet>,
    },
    /// A test without a known value on this class: every result is possible, nothing is learned.
    Blind,
    /// A `do`: one way on.
    Done,
    /// A `which`: this result, if any.
    Route(Option<usize>),
}

/// Vehicles that are analysed as one.
#[derive(Clone, Debug)]
pub struct Class {
    /// The vehicles.
    pub vehicles: Set<Vehicle>,
    /// One of them.
    pub one: VehicleIx,
    /// The causes that exist on them, `no-fault` among them where listed.
    pub causes: Set<Cause>,
    /// Fact keys and what is remembered under each.
    pub keys: Vec<(FactKey, Memory)>,
    /// Per step, how it meets what is remembered.
    pub meets: Vec<Meets>,
    /// Per step, the keys that it forgets once it is done.
    pub forgets: Vec<CellSet>,
}

impl Class {
    /// The position of a key.
    pub fn key(&self, key: &FactKey) -> Option<KeyAt> {
        self.keys.iter().position(|(k, _)| k == key)
    }

    /// Whether jobs on both go the same ways: they differ in nothing but the amounts of their limits.
    pub fn walks_like(&self, other: &Class) -> bool {
        let same_keys = || self.keys.iter().zip(&other.keys).all(|((a, x), (b, y))| a == b && x.len() == y.len());
        self.causes == other.causes
            && self.meets == other.meets
            && self.keys.len() == other.keys.len()
            && same_keys()
            && self.forgets == other.forgets
    }

    /// Whether a vehicle of the class can show a result of a step, whatever was seen before.
    pub fn shows(&self, step: StepIx, result: usize) -> bool {
        match &self.meets[step.raw()] {
            Meets::Test { takes, .. } => takes.get(result).is_some_and(|cells| !cells.is_empty()),
            _ => true,
        }
    }

    /// The cells of a measuring step, its key and what its results take.
    pub fn readings(&self, step: StepIx) -> Option<(KeyAt, &Cells, &[CellSet])> {
        let Meets::Test { key, takes } = &self.meets[step.raw()] else { return None };
        match &self.keys[*key].1 {
            Memory::Readings(cells) => Some((*key, cells, takes)),
            Memory::Labels(_) => None,
        }
    }
}

/// What vehicles of one class have in common: limits of each key, causes, routes.
type Likeness = (Vec<usize>, Set<Cause>, Vec<usize>);

/// The classes of a procedure, in the order of their first vehicle.
pub fn classes(base: &Base, procedure: &Procedure) -> Vec<Class> {
    let mut measured = measured(base, procedure);
    let mut members: BTreeMap<Likeness, Set<Vehicle>> = BTreeMap::new();
    for vehicle in procedure.applies.iter() {
        let limits = measured.iter().map(|m| m.limits(base, vehicle)).collect();
        let routes = procedure.steps.iter().filter_map(|(_, _, s)| route(s, vehicle)).collect();
        members.entry((limits, procedure.causes_on(vehicle), routes)).or_default().insert(vehicle);
    }
    let class = |(alike, vehicles)| class(base, procedure, &mut measured, alike, vehicles);
    let mut classes: Vec<Class> = members.into_iter().filter_map(class).collect();
    classes.sort_by_key(|c| c.one);
    classes
}

/// What is measured under one key.
struct Measured<'a> {
    key: &'a FactKey,
    spec: Option<SpecIx>,
    /// Per entry of the spec, the first entry that says the same.
    alike: Vec<usize>,
    steps: Vec<StepIx>,
    domain: Domain,
    /// What was worked out so far, by the limits.
    cuts: Vec<(usize, Option<Cut>)>,
}

/// The cells of a key on vehicles with the same limits, and per step what its results take of them.
#[derive(Clone)]
struct Cut {
    cells: Arc<Cells>,
    takes: Arc<[Vec<CellSet>]>,
}

fn measured<'a>(base: &Base, procedure: &'a Procedure) -> Vec<Measured<'a>> {
    let mut measured: BTreeMap<&FactKey, Measured<'a>> = BTreeMap::new();
    for (at, _, step) in procedure.steps.iter() {
        let Some(measure) = step.measure() else { continue };
        let spec = measure.spec.map(|s| s.value);
        let new = || Measured {
            key: &step.key,
            spec,
            alike: spec.map_or_else(Vec::new, |s| alike(&base.specs[s])),
            steps: Vec::new(),
            domain: domain(base, procedure, step, measure),
            cuts: Vec::new(),
        };
        measured.entry(&step.key).or_insert_with(new).steps.push(at);
    }
    measured.into_values().collect()
}

impl Measured<'_> {
    /// A number for the limits that hold on a vehicle, the same for limits that say the same.
    fn limits(&self, base: &Base, vehicle: VehicleIx) -> usize {
        let entry = self.spec.and_then(|s| base.specs[s].by_vehicle.get(vehicle.raw()).copied().flatten());
        entry.map_or(0, |entry| self.alike[entry] + 1)
    }

    /// The cells on vehicles with these limits, one of which is given; nothing where the limits are not known.
    fn cut(&mut self, base: &Base, procedure: &Procedure, limits: usize, one: VehicleIx) -> Option<Cut> {
        if let Some((_, cut)) = self.cuts.iter().find(|(known, _)| *known == limits) {
            return cut.clone();
        }
        let cut = self.work_out(base, procedure, one);
        self.cuts.push((limits, cut.clone()));
        cut
    }

    fn work_out(&self, base: &Base, procedure: &Procedure, one: VehicleIx) -> Option<Cut> {
        let limits = match self.spec {
            Some(spec) => Some(spec_limits(&base.specs[spec], one)?),
            None => None,
        };
        let domain = &self.domain;
        let sets = |at: &StepIx| {
            let phrases: Vec<&Phrase> = procedure.steps[*at].results.iter().filter_map(phrase).collect();
            evaluate(&phrases, limits.as_ref(), domain)
        };
        let sets: Vec<Vec<ReadingSet>> = self.steps.iter().map(sets).collect();
        let bands = self.spec.and_then(|s| base.specs[s].bands(one)).unwrap_or_default();
        let bands: Vec<ReadingSet> = bands.iter().map(|b| limit_set(&b.phrase, domain)).collect();
        let cells = Cells::new(domain.clone(), sets.iter().flatten().chain(&bands));
        let takes = sets.iter().map(|sets| sets.iter().map(|s| cells.select(s)).collect()).collect();
        Some(Cut { cells: Arc::new(cells), takes })
    }
}

/// Per entry of a spec, the first entry that says the same.
fn alike(spec: &Spec) -> Vec<usize> {
    let same = |a: &Limits, b: &Limits| match (a, b) {
        (Limits::Placeholder, Limits::Placeholder) => true,
        (Limits::Bands(a), Limits::Bands(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(x, y)| x.name == y.name && x.set == y.set)
        }
        _ => false,
    };
    let limits = |i: usize| &spec.entries[i].limits;
    (0..spec.entries.len()).map(|i| (0..i).find(|j| same(limits(*j), limits(i))).unwrap_or(i)).collect()
}

fn route(step: &Step, vehicle: VehicleIx) -> Option<usize> {
    matches!(step.kind, Kind::Which).then(|| routed(step, vehicle).map_or(0, |r| r + 1))
}

fn routed(step: &Step, vehicle: VehicleIx) -> Option<usize> {
    step.results.iter().position(|r| matches!(&r.condition, Condition::Vehicles(set) if set.contains(vehicle)))
}

fn class(
    base: &Base,
    procedure: &Procedure,
    measured: &mut [Measured<'_>],
    (limits, causes, _): Likeness,
    vehicles: Set<Vehicle>,
) -> Option<Class> {
    let one = vehicles.first()?;
    let mut class = Class { vehicles, one, causes, keys: Vec::new(), meets: Vec::new(), forgets: Vec::new() };
    let mut takes: Vec<Option<(KeyAt, Vec<CellSet>)>> = vec![None; procedure.steps.len()];
    for (measured, limits) in measured.iter_mut().zip(limits) {
        let Some(cut) = measured.cut(base, procedure, limits, one) else { continue };
        for (at, sets) in measured.steps.iter().zip(cut.takes.iter()) {
            takes[at.raw()] = Some((class.keys.len(), sets.clone()));
        }
        class.keys.push((measured.key.clone(), Memory::Readings(cut.cells)));
    }
    for ((_, _, step), takes) in procedure.steps.iter().zip(takes) {
        let meets = match &step.kind {
            Kind::Measure(_) => takes.map_or(Meets::Blind, |(key, takes)| Meets::Test { key, takes }),
            Kind::Observe(_) => labels(&mut class, step),
            Kind::Do(_) => Meets::Done,
            Kind::Which => Meets::Route(routed(step, one)),
        };
        class.meets.push(meets);
    }
    class.forgets = procedure.steps.iter().map(|(_, _, step)| forgets(step, &class)).collect();
    Some(class)
}

fn phrase(outcome: &crate::model::Outcome) -> Option<&Phrase> {
    match &outcome.condition {
        Condition::Reading(phrase) => Some(phrase),
        _ => None,
    }
}

fn labels(class: &mut Class, step: &Step) -> Meets {
    let key = class.key(&step.key).unwrap_or_else(|| {
        class.keys.push((step.key.clone(), Memory::Labels(Vec::new())));
        class.keys.len() - 1
    });
    let Memory::Labels(known) = &mut class.keys[key].1 else { return Meets::Blind };
    let takes = step
        .results
        .iter()
        .map(|r| {
            let at = known.iter().position(|l| *l == r.text.value).unwrap_or_else(|| {
                known.push(r.text.value.clone());
                known.len() - 1
            });
            CellSet::one(at)
        })
        .collect();
    Meets::Test { key, takes }
}

/// The limits of a spec on a vehicle.
pub fn spec_limits(spec: &Spec, vehicle: VehicleIx) -> Option<SpecLimits> {
    let bands = spec.bands(vehicle)?;
    let mut limits = SpecLimits::default();
    for band in bands {
        if band.name == "in spec" {
            limits.in_spec = Some(band.phrase.clone());
        } else {
            limits.bands.push((band.name.clone(), band.phrase.clone()));
        }
    }
    Some(limits)
}
