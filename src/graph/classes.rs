//! Vehicle classes: vehicles of a procedure that agree on limits, bands, routes and causes are analysed once.
//!
//! In: the base and one procedure. Out: [`Class`]es, each with its cells per fact key and what every result takes of them.

use std::collections::BTreeMap;

use super::live::forgets;
pub use crate::model::meaning::domain;
use crate::model::{
    Base, Cause, Condition, FactKey, Kind, Limits, Measure, Procedure, Set, Spec, SpecIx, Step, StepIx, Vehicle,
    VehicleIx,
};
use crate::quantity::{CellSet, Cells, Domain, Phrase, ReadingSet, SpecLimits, evaluate, limit_set};

/// Index of a fact key within its class.
pub type KeyAt = usize;

/// What is remembered under one key, on one class of vehicles.
#[derive(Clone, Debug)]
pub enum Memory {
    /// Readings, cut into cells.
    Readings(Cells),
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

    /// The cells of a measuring step, its key and what its results take.
    pub fn readings(&self, step: StepIx) -> Option<(KeyAt, &Cells, &[CellSet])> {
        let Meets::Test { key, takes } = &self.meets[step.raw()] else { return None };
        match &self.keys[*key].1 {
            Memory::Readings(cells) => Some((*key, cells, takes)),
            Memory::Labels(_) => None,
        }
    }
}

/// What vehicles of one class have in common: limits of each spec, causes, routes.
type Likeness = (Vec<usize>, Set<Cause>, Vec<usize>);

/// The classes of a procedure, in the order of their first vehicle.
pub fn classes(base: &Base, procedure: &Procedure) -> Vec<Class> {
    let specs: Vec<SpecIx> = specs_of(procedure);
    let alike: Vec<Vec<usize>> = specs.iter().map(|s| alike(&base.specs[*s])).collect();
    let mut members: BTreeMap<Likeness, Set<Vehicle>> = BTreeMap::new();
    for vehicle in procedure.applies.iter() {
        let limits = specs
            .iter()
            .zip(&alike)
            .map(|(s, alike)| match base.specs[*s].by_vehicle.get(vehicle.raw()).copied().flatten() {
                Some(entry) => alike[entry] + 1,
                None => 0,
            })
            .collect();
        let routes = procedure.steps.iter().filter_map(|(_, _, s)| route(s, vehicle)).collect();
        members.entry((limits, procedure.causes_on(vehicle), routes)).or_default().insert(vehicle);
    }
    let mut classes: Vec<Class> =
        members.into_iter().filter_map(|((_, causes, _), vehicles)| class(base, procedure, causes, vehicles)).collect();
    classes.sort_by_key(|c| c.one);
    classes
}

fn specs_of(procedure: &Procedure) -> Vec<SpecIx> {
    let mut specs: Vec<SpecIx> =
        procedure.steps.iter().filter_map(|(_, _, s)| Some(s.measure()?.spec?.value)).collect();
    specs.sort_unstable();
    specs.dedup();
    specs
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

fn class(base: &Base, procedure: &Procedure, causes: Set<Cause>, vehicles: Set<Vehicle>) -> Option<Class> {
    let one = vehicles.first()?;
    let mut class = Class { vehicles, one, causes, keys: Vec::new(), meets: Vec::new(), forgets: Vec::new() };
    let mut sets: BTreeMap<FactKey, Vec<(StepIx, Vec<ReadingSet>)>> = BTreeMap::new();
    for (at, _, step) in procedure.steps.iter() {
        if let Some(measure) = step.measure().filter(|m| known(base, m, one)) {
            let domain = domain(base, procedure, step, measure);
            let phrases: Vec<&Phrase> = step.results.iter().filter_map(phrase).collect();
            let limits = measure.spec.and_then(|s| spec_limits(&base.specs[s.value], one));
            sets.entry(step.key.clone()).or_default().push((at, evaluate(&phrases, limits.as_ref(), &domain)));
        }
    }
    let mut takes: BTreeMap<StepIx, (KeyAt, Vec<CellSet>)> = BTreeMap::new();
    for (key, steps) in sets {
        let Some((at, _)) = steps.first() else { continue };
        let step = &procedure.steps[*at];
        let Some(measure) = step.measure() else { continue };
        let domain = domain(base, procedure, step, measure);
        let bands = band_sets(base, measure, one, &domain);
        let cells = Cells::new(domain, steps.iter().flat_map(|(_, sets)| sets).chain(&bands));
        for (at, sets) in &steps {
            takes.insert(*at, (class.keys.len(), sets.iter().map(|s| cells.select(s)).collect()));
        }
        class.keys.push((key, Memory::Readings(cells)));
    }
    for (at, _, step) in procedure.steps.iter() {
        let meets = match &step.kind {
            Kind::Measure(_) => match takes.remove(&at) {
                Some((key, takes)) => Meets::Test { key, takes },
                None => Meets::Blind,
            },
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

/// Whether the value is known on a vehicle: an inline reading always is.
fn known(base: &Base, measure: &Measure, vehicle: VehicleIx) -> bool {
    measure.spec.is_none_or(|s| base.specs[s.value].bands(vehicle).is_some())
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

fn band_sets(base: &Base, measure: &Measure, vehicle: VehicleIx, domain: &Domain) -> Vec<ReadingSet> {
    let bands = measure.spec.and_then(|s| base.specs[s.value].bands(vehicle)).unwrap_or_default();
    bands.iter().map(|b| limit_set(&b.phrase, domain)).collect()
}
