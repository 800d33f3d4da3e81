//! The shared tables of a knowledge base.
//!
//! In: nothing (nouns only). Out: [`Base`] and the rows of its tables.

use super::{Ix, Set, Table, procedure::Repair, step::Check};
use crate::finding::Levels;
use crate::quantity::{Amount, Phrase, Quantity, Rational, ReadingSet};
use crate::source::{FileId, Span, Spanned};

/// Index of a vehicle.
pub type VehicleIx = Ix<Vehicle>;
/// Index of a spec.
pub type SpecIx = Ix<Spec>;
/// Index of a fault code.
pub type CodeIx = Ix<Code>;
/// Index of an instrument.
pub type EquipmentIx = Ix<Equipment>;
/// Index of a setup.
pub type SetupIx = Ix<Setup>;
/// Index of a hazard.
pub type HazardIx = Ix<Hazard>;
/// Index of a term.
pub type TermIx = Ix<Term>;
/// Index of a system.
pub type SystemIx = Ix<System>;

/// Where a table's row stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// The id: a key in a table, or the first line of a file named after it.
    pub key: Span,
    /// The whole row.
    pub whole: Span,
}

/// Everything a knowledge base says apart from its procedures and cases.
#[derive(Debug, Default)]
pub struct Base {
    /// `shop.yaml`.
    pub shop: Shop,
    /// `vehicles.yaml`; one with an empty id where the base names none.
    pub vehicles: Table<Vehicle>,
    /// Group name to its vehicles.
    pub groups: Table<Set<Vehicle>>,
    /// `codes.yaml`.
    pub codes: Table<Code>,
    /// `equipment.yaml`.
    pub equipment: Table<Equipment>,
    /// `setups.yaml`.
    pub setups: Table<Setup>,
    /// `hazards.yaml`.
    pub hazards: Table<Hazard>,
    /// `terms.yaml`.
    pub terms: Table<Term>,
    /// `specs/*.yaml`, all files together.
    pub specs: Table<Spec>,
    /// `systems/*.md`.
    pub systems: Table<System>,
    /// `checks/*.md`.
    pub checks: Table<Check>,
    /// `repairs/*.md`.
    pub repairs: Table<Repair>,
    /// Every procedure's id and file, in the order of their paths.
    pub procedures: Table<FileId>,
    /// Names of the files under `figures/`, without the folder.
    pub figures: Table<()>,
    /// Tables (by file name) and folders that could not be read: names that would stand there are not judged.
    pub broken: std::collections::BTreeSet<String>,
    /// Where the tables and shared files have errors, in the order of files.
    pub faults: Vec<Span>,
}

impl Base {
    /// Whether the base names no vehicle, so that there is one nameless vehicle.
    pub fn is_nameless(&self) -> bool {
        self.vehicles.len() == 1 && self.vehicles.ids().next() == Some("")
    }

    /// Whether a row has an error (told): what it seems to say or to lack is not held against who uses it.
    pub fn is_faulty(&self, place: &Place) -> bool {
        let from = self.faults.partition_point(|f| (f.file, f.start) < (place.whole.file, place.whole.start));
        self.faults.get(from).is_some_and(|f| f.file == place.whole.file && f.start < place.whole.end)
    }

    /// The ids of these vehicles, in file order.
    pub fn vehicle_ids(&self, set: &Set<Vehicle>) -> Vec<String> {
        set.iter().map(|v| self.vehicles.id(v).to_owned()).collect()
    }
}

/// `shop.yaml`.
#[derive(Clone, Debug)]
pub struct Shop {
    /// Site title.
    pub title: String,
    /// Currency code for prices.
    pub currency: String,
    /// Labour rate, currency per hour.
    pub labour_rate: Option<Rational>,
    /// Minutes of a test that gives none.
    pub default_minutes: Option<Rational>,
    /// Quantity to the unit symbol the shop reads it in.
    pub units: Vec<(Quantity, String)>,
    /// The bays and what each has.
    pub bays: Table<Bay>,
    /// Rule levels.
    pub levels: Levels,
    /// Address for "something wrong on this page".
    pub feedback: Option<String>,
}

impl Default for Shop {
    fn default() -> Self {
        Self {
            title: "Workshop knowledge base".into(),
            currency: String::new(),
            labour_rate: None,
            default_minutes: None,
            units: Vec::new(),
            bays: Table::default(),
            levels: Levels::default(),
            feedback: None,
        }
    }
}

/// A bay.
#[derive(Clone, Debug)]
pub struct Bay {
    /// Title.
    pub title: String,
    /// What is at hand there.
    pub has: Set<Equipment>,
}

/// A vehicle.
#[derive(Clone, Debug)]
pub struct Vehicle {
    /// Where it stands (the start of the base for the nameless one).
    pub place: Place,
    /// Title.
    pub title: String,
    /// Its groups, as named.
    pub groups: Vec<Spanned<String>>,
}

/// A fault code.
#[derive(Clone, Debug)]
pub struct Code {
    /// Where it stands.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Trips to set (and so to confirm); 1 where nothing stands.
    pub trips: u32,
    /// Conditions under which the monitor runs.
    pub monitor: Option<String>,
    /// A maker's own form.
    pub own_form: bool,
}

/// What an instrument can do for one quantity.
#[derive(Clone, Debug)]
pub struct InstrumentRange {
    /// The quantity.
    pub quantity: Spanned<Quantity>,
    /// What it can show, base units.
    pub range: Option<Range>,
    /// Smallest difference shown, base units.
    pub resolution: Option<Amount>,
    /// Accuracy as written and read.
    pub accuracy: Option<Spanned<crate::quantity::Accuracy>>,
}

/// A range with both ends.
#[derive(Clone, Debug)]
pub struct Range {
    /// As written.
    pub text: Spanned<String>,
    /// What it holds.
    pub set: ReadingSet,
}

/// An instrument.
#[derive(Clone, Debug)]
pub struct Equipment {
    /// Where it stands.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Per quantity; an instrument that measures nothing (a jack) has none.
    pub measures: Vec<InstrumentRange>,
    /// Hazards of using it.
    pub hazards: Vec<Spanned<HazardIx>>,
}

/// A preparation several steps share.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Where it stands.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Minutes to set up.
    pub minutes: Option<Rational>,
    /// Equipment it needs; each item a list of alternatives.
    pub with: Vec<Spanned<Vec<EquipmentIx>>>,
    /// Hazards it brings.
    pub hazards: Vec<Spanned<HazardIx>>,
    /// Hazards that do not apply while it stands.
    pub away_from: Vec<Spanned<HazardIx>>,
    /// Setups that it ends.
    pub ends: Vec<Spanned<SetupIx>>,
    /// What must be put back.
    pub undo: Option<Spanned<String>>,
}

/// ANSI Z535.6 signal words, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Signal {
    /// Will result in death or serious injury.
    Danger,
    /// Could result in death or serious injury.
    Warning,
    /// Could result in minor or moderate injury.
    Caution,
    /// Not about injury.
    Notice,
}

impl Signal {
    /// The word in `hazards.yaml`, lower case.
    pub fn name(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::Warning => "warning",
            Self::Caution => "caution",
            Self::Notice => "notice",
        }
    }

    /// Reads the word.
    pub fn from_name(name: &str) -> Option<Self> {
        [Self::Danger, Self::Warning, Self::Caution, Self::Notice].into_iter().find(|s| s.name() == name)
    }
}

/// A hazard.
#[derive(Clone, Debug)]
pub struct Hazard {
    /// Where it stands.
    pub place: Place,
    /// The signal word.
    pub signal: Signal,
    /// Title; the id's words where none is given.
    pub title: String,
    /// What to say.
    pub text: String,
    /// What it must never meet.
    pub never_with: Vec<Spanned<HazardIx>>,
}

/// An abbreviation or synonym.
#[derive(Clone, Debug)]
pub struct Term {
    /// Where it stands.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Other words for it.
    pub also: Vec<String>,
    /// What it means.
    pub means: Option<String>,
}

/// How a worked-out reading is made from its parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Take {
    /// Lowest over highest, in %.
    LowestOfHighest,
    /// First minus second.
    Difference,
    /// Highest minus lowest.
    Spread,
}

impl Take {
    /// As written.
    pub fn name(self) -> &'static str {
        match self {
            Self::LowestOfHighest => "lowest of highest",
            Self::Difference => "difference",
            Self::Spread => "spread",
        }
    }

    /// Reads the words.
    pub fn from_name(name: &str) -> Option<Self> {
        [Self::LowestOfHighest, Self::Difference, Self::Spread].into_iter().find(|t| t.name() == name)
    }
}

/// A worked-out reading: one number from several.
#[derive(Clone, Debug)]
pub struct WorkedOut {
    /// The quantity of the parts.
    pub of: Quantity,
    /// Names of the parts, in order; empty where rows can be added.
    pub names: Vec<String>,
    /// How.
    pub take: Take,
}

/// A named range of a spec.
#[derive(Clone, Debug)]
pub struct Band {
    /// `in spec` or a name of the shop's.
    pub name: String,
    /// The range as written.
    pub text: Spanned<String>,
    /// The range as read.
    pub phrase: Phrase,
    /// What it holds, base units of the spec's quantity.
    pub set: ReadingSet,
}

/// What a spec says for a vehicle.
#[derive(Clone, Debug)]
pub enum Limits {
    /// `TBD`.
    Placeholder,
    /// Known; never empty.
    Bands(Vec<Band>),
}

impl Limits {
    /// The band of this name.
    pub fn band(&self, name: &str) -> Option<&Band> {
        match self {
            Self::Placeholder => None,
            Self::Bands(bands) => bands.iter().find(|b| b.name == name),
        }
    }
}

/// One line of `values:`, or the `value:`.
#[derive(Clone, Debug)]
pub struct SpecEntry {
    /// The vehicle or group as written; nothing for `value:`.
    pub who: Option<String>,
    /// The key (`12-volt`, or `value`) and the line.
    pub place: Place,
    /// What it says.
    pub limits: Limits,
}

/// A spec value.
#[derive(Clone, Debug)]
pub struct Spec {
    /// Where it stands.
    pub place: Place,
    /// Title.
    pub title: String,
    /// What is measured.
    pub quantity: Spanned<Quantity>,
    /// Where on the vehicle.
    pub at: Option<String>,
    /// Under which condition.
    pub when: Option<String>,
    /// Where the value comes from.
    pub source: Option<Spanned<String>>,
    /// One number from several, if so.
    pub worked_out: Option<WorkedOut>,
    /// The entries in file order.
    pub entries: Vec<SpecEntry>,
    /// Per vehicle, the entry that holds (index into `entries`): the most specific.
    pub by_vehicle: Vec<Option<usize>>,
    /// Whether any entry names a negative amount (readings below zero are then asked for).
    pub names_negative: bool,
    /// Whether part of it could not be read (told already): a band or a vehicle's value that seems missing may stand there.
    pub is_faulty: bool,
}

impl Spec {
    /// What holds for a vehicle.
    pub fn entry(&self, vehicle: VehicleIx) -> Option<&SpecEntry> {
        self.by_vehicle.get(vehicle.raw()).copied().flatten().and_then(|i| self.entries.get(i))
    }

    /// The limits that hold for a vehicle, where known.
    pub fn bands(&self, vehicle: VehicleIx) -> Option<&[Band]> {
        match &self.entry(vehicle)?.limits {
            Limits::Placeholder => None,
            Limits::Bands(bands) => Some(bands),
        }
    }

    /// Every band name that some vehicle has, in order of first mention. A placeholder's readings are written as if it
    /// had `in spec`.
    pub fn band_names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for entry in &self.entries {
            if let Limits::Bands(bands) = &entry.limits {
                for band in bands {
                    if !names.contains(&band.name.as_str()) {
                        names.push(&band.name);
                    }
                }
            }
        }
        let waiting = self.entries.iter().any(|e| matches!(e.limits, Limits::Placeholder));
        if waiting && !names.contains(&"in spec") {
            names.push("in spec");
        }
        names
    }
}

/// How a system works when it is healthy.
#[derive(Clone, Debug)]
pub struct System {
    /// Its file.
    pub place: Place,
    /// Title.
    pub title: String,
    /// Hazards of every step on it.
    pub hazards: Vec<Spanned<HazardIx>>,
}
