//! What all pages share, so that each page can be planned by itself.
//!
//! In: the base, and a digest of every procedure. Out: [`Frame`]: titles, addresses, who uses what. Small, so that a base
//! of ten thousand procedures fits.

use std::collections::BTreeMap;

use sha2::{Digest as _, Sha256};

use super::address::PageKind;
use super::page::{Caution, Link, Row};
use crate::finding::{Finding, Report};
use crate::model::{Base, FactKey, HazardIx, Ix, Measure, ProcedureIx, Set, Vehicle};
use crate::resolve::Digest;
use crate::source::Sources;

/// Who uses a row of a table: procedures by their place in [`Frame::digests`].
type Users<T> = BTreeMap<Ix<T>, Vec<usize>>;

/// What all pages share.
pub struct Frame<'a> {
    /// The shared tables.
    pub base: &'a Base,
    /// Every file.
    pub sources: &'a Sources,
    /// A digest of every procedure that could be read.
    pub digests: &'a [Digest],
    /// What the check of the base told.
    pub report: &'a Report,
    /// Which state of the base the site is made from: the start of a SHA-256 over paths and bytes.
    pub state: String,
    by_ix: BTreeMap<ProcedureIx, usize>,
    by_system: Users<crate::model::System>,
    by_code: Users<crate::model::Code>,
    by_spec: Users<crate::model::Spec>,
    by_check: Users<crate::model::Check>,
    by_repair: Users<crate::model::Repair>,
    by_equipment: Users<crate::model::Equipment>,
    by_setup: Users<crate::model::Setup>,
    by_hazard: Users<crate::model::Hazard>,
    /// By procedure, what `slow-order` told of it.
    slow: BTreeMap<&'a str, &'a Finding>,
}

fn users<'d, T: 'd, I: Iterator<Item = Ix<T>> + 'd>(digests: &'d [Digest], of: impl Fn(&'d Digest) -> I) -> Users<T> {
    let mut users: Users<T> = BTreeMap::new();
    for (at, digest) in digests.iter().enumerate() {
        for ix in of(digest) {
            let list = users.entry(ix).or_default();
            if list.last() != Some(&at) {
                list.push(at);
            }
        }
    }
    users
}

impl<'a> Frame<'a> {
    /// Gathers what all pages share.
    ///
    /// `pictures` stands for the bytes of the pictures that are no text (see [`Frame::state`]).
    pub fn new(
        base: &'a Base,
        sources: &'a Sources,
        digests: &'a [Digest],
        report: &'a Report,
        pictures: &[u8],
    ) -> Self {
        Self {
            base,
            sources,
            digests,
            report,
            state: state(sources, pictures),
            by_ix: digests.iter().enumerate().filter_map(|(at, d)| Some((d.ix?, at))).collect(),
            by_system: users(digests, |d| d.system.into_iter()),
            by_code: users(digests, |d| d.codes.iter().copied()),
            by_spec: users(digests, |d| d.specs.iter()),
            by_check: users(digests, |d| d.checks.iter()),
            by_repair: users(digests, |d| d.repairs.iter()),
            by_equipment: users(digests, |d| d.equipment.iter()),
            by_setup: users(digests, |d| d.setups.iter()),
            by_hazard: users(digests, |d| d.hazards.iter()),
            slow: report
                .findings
                .iter()
                .filter(|finding| finding.rule == "slow-order")
                .filter_map(|finding| Some((finding.procedure.as_deref()?, finding)))
                .collect(),
        }
    }

    /// What the rule `slow-order` told of a procedure.
    pub fn slow_order(&self, procedure: &str) -> Option<&'a Finding> {
        self.slow.get(procedure).copied()
    }

    /// The digest of a procedure.
    pub fn digest(&self, ix: ProcedureIx) -> Option<&'a Digest> {
        self.by_ix.get(&ix).map(|at| &self.digests[*at])
    }

    /// A link to a procedure, with its vehicles.
    pub fn procedure(&self, ix: ProcedureIx) -> Link {
        match self.digest(ix) {
            Some(digest) => self.procedure_of(digest),
            // A file that could not be read has no title, but a page in the preview.
            None => Link::to(self.base.procedures.id(ix), PageKind::Procedures.page(self.base.procedures.id(ix))),
        }
    }

    /// The same, from its digest.
    pub fn procedure_of(&self, digest: &Digest) -> Link {
        Link::to(&digest.title, PageKind::Procedures.page(&digest.id)).on(self.on(&digest.applies))
    }

    fn procedures<T>(&self, users: &Users<T>, ix: Ix<T>) -> Vec<Link> {
        by_title(users.get(&ix).into_iter().flatten().map(|at| self.procedure_of(&self.digests[*at])).collect())
    }

    /// The vehicles of a row's page: those of the procedures that use it; all, if none does.
    fn vehicles_of<T>(&self, users: &Users<T>, ix: Ix<T>) -> Set<Vehicle> {
        let used = users.get(&ix).into_iter().flatten();
        let set = used.fold(Set::new(), |all: Set<Vehicle>, at| all.or(&self.digests[*at].applies));
        if set.is_empty() { Set::all(self.base.vehicles.len()) } else { set }
    }

    /// Vehicles that a page of the search is for.
    pub fn page_vehicles(&self, kind: PageKind, at: usize) -> Set<Vehicle> {
        match kind {
            PageKind::Codes => self.vehicles_of(&self.by_code, Ix::new(at)),
            PageKind::Systems => self.vehicles_of(&self.by_system, Ix::new(at)),
            PageKind::Checks => self.vehicles_of(&self.by_check, Ix::new(at)),
            PageKind::Repairs => self.vehicles_of(&self.by_repair, Ix::new(at)),
            PageKind::Vehicles => Set::one(Ix::new(at)),
            PageKind::Specs => {
                let spec: &crate::model::Spec = &self.base.specs[Ix::new(at)];
                self.base.vehicles.indexes().filter(|v| spec.entry(*v).is_some()).collect()
            }
            _ => Set::all(self.base.vehicles.len()),
        }
    }

    /// Procedures of a system.
    pub fn of_system(&self, ix: crate::model::SystemIx) -> Vec<Link> {
        self.procedures(&self.by_system, ix)
    }
    /// Procedures of a code.
    pub fn of_code(&self, ix: crate::model::CodeIx) -> Vec<Link> {
        self.procedures(&self.by_code, ix)
    }
    /// Procedures that measure a spec.
    pub fn of_spec(&self, ix: crate::model::SpecIx) -> Vec<Link> {
        self.procedures(&self.by_spec, ix)
    }
    /// Procedures that use a check.
    pub fn of_check(&self, ix: crate::model::CheckIx) -> Vec<Link> {
        self.procedures(&self.by_check, ix)
    }
    /// Procedures that share a repair.
    pub fn of_repair(&self, ix: crate::model::RepairIx) -> Vec<Link> {
        self.procedures(&self.by_repair, ix)
    }
    /// Procedures that use an instrument.
    pub fn of_equipment(&self, ix: crate::model::EquipmentIx) -> Vec<Link> {
        self.procedures(&self.by_equipment, ix)
    }
    /// Procedures that need a preparation.
    pub fn of_setup(&self, ix: crate::model::SetupIx) -> Vec<Link> {
        self.procedures(&self.by_setup, ix)
    }
    /// Procedures that name a hazard.
    pub fn of_hazard(&self, ix: HazardIx) -> Vec<Link> {
        self.procedures(&self.by_hazard, ix)
    }

    /// The vehicles of a page or row, where they are not all.
    pub fn on(&self, set: &Set<Vehicle>) -> Option<String> {
        (set.len() < self.base.vehicles.len()).then(|| self.base.vehicle_ids(set).join(" "))
    }

    /// The titles of these vehicles, `all vehicles` where they are all.
    pub fn vehicle_titles(&self, set: &Set<Vehicle>) -> String {
        if set.len() == self.base.vehicles.len() {
            return "all vehicles".into();
        }
        set.iter().map(|v| self.base.vehicles[v].title.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// A hazard's caution.
    pub fn caution(&self, ix: HazardIx) -> Caution {
        let hazard = &self.base.hazards[ix];
        Caution {
            signal: hazard.signal.name(),
            text: hazard.text.clone(),
            to: PageKind::Hazards.page(self.base.hazards.id(ix)),
        }
    }

    /// The cautions of these hazards, worst first, each once.
    pub fn cautions(&self, hazards: impl IntoIterator<Item = HazardIx>) -> Vec<Caution> {
        let mut list: Vec<HazardIx> = hazards.into_iter().collect();
        list.sort_by_key(|ix| (self.base.hazards[*ix].signal, *ix));
        list.dedup();
        list.into_iter().map(|ix| self.caution(ix)).collect()
    }

    /// An instrument's link.
    pub fn equipment(&self, ix: crate::model::EquipmentIx) -> Link {
        let table = &self.base.equipment;
        Link::to(&table[ix].title, PageKind::Equipment.page(table.id(ix)))
    }

    /// A spec's link.
    pub fn spec(&self, ix: crate::model::SpecIx) -> Link {
        let table = &self.base.specs;
        Link::to(&table[ix].title, PageKind::Specs.page(table.id(ix)))
    }

    /// A code's link.
    pub fn code(&self, ix: crate::model::CodeIx) -> Link {
        let table = &self.base.codes;
        Link::to(table.id(ix), PageKind::Codes.page(table.id(ix))).more(&table[ix].title)
    }

    /// Links to vehicles; none in a base without vehicles.
    pub fn vehicles(&self, set: &Set<Vehicle>) -> Vec<Link> {
        if self.base.is_nameless() {
            return Vec::new();
        }
        let table = &self.base.vehicles;
        set.iter().map(|v| Link::to(&table[v].title, PageKind::Vehicles.page(table.id(v)))).collect()
    }

    /// What a measuring step reads, in words.
    pub fn reading(&self, measure: &Measure) -> String {
        measure
            .spec
            .as_ref()
            .map_or_else(|| measure.quantity.name().to_owned(), |spec| self.base.specs[spec.value].title.clone())
    }
}

/// Whether two keys are the same reading.
pub(super) fn same_key(a: &FactKey, b: &FactKey) -> bool {
    a == b
}

/// Links in the order in which people look for a title.
pub fn by_title(mut links: Vec<Link>) -> Vec<Link> {
    links.sort_by_cached_key(|link| (link.text.to_lowercase(), link.to.clone()));
    links
}

/// Rows in the order in which people look for what their first cell names.
pub fn rows_by_title(rows: impl Iterator<Item = Row>) -> Vec<Row> {
    let mut rows: Vec<Row> = rows.collect();
    rows.sort_by_cached_key(|row| row.cells.first().and_then(|cell| cell.first()).map(|link| link.text.to_lowercase()));
    rows
}

/// The start of a digest over every file's path and bytes.
fn state(sources: &Sources, pictures: &[u8]) -> String {
    let mut hasher = Sha256::new();
    for (_, file) in sources.iter() {
        hasher.update((file.path().len() as u64).to_le_bytes());
        hasher.update(file.path().as_bytes());
        hasher.update((file.text().len() as u64).to_le_bytes());
        hasher.update(file.text().as_bytes());
    }
    hasher.update(pictures);
    super::hex(&hasher.finalize()[..6])
}
