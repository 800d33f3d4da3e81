//! In: the tables, what they name of each other, and what every page names. Out: a note per entry that nothing names.
#![doc = include_str!("unused_entry.md")]

use crate::check::pages::{pages, path_from};
use crate::check::{Family, Rule, Run, Whole};
use crate::finding::{Finding, Level, make_room};
use crate::model::{Base, Kind, Place, Set, Table};
use crate::source::Span;
use std::collections::{BTreeMap, BTreeSet};

/// The rule.
pub static RULE: Rule = Rule {
    name: "unused-entry",
    family: Family::Values,
    levels: &[Level::Note],
    summary: "Something in the tables that nothing names",
    page: include_str!("unused_entry.md"),
    run: Run::Whole(check),
};

fn check(whole: &Whole<'_>, out: &mut Vec<Finding>) {
    // Where a procedure could not be read, it may be the one that names the entry.
    if !whole.complete || whole.digests.iter().any(|d| !d.sound) {
        return;
    }
    let base = whole.base;
    let mut named = Named::default();
    named.by_procedures(whole);
    named.by_tables(base);
    named.by_words(whole);
    let mut told = Told { out, named: &named };
    told.table("code", &base.codes, |c| c.place);
    told.table("spec", &base.specs, |s| s.place);
    told.table("check", &base.checks, |c| c.place);
    told.table("repair", &base.repairs, |r| r.place);
    told.table("setup", &base.setups, |s| s.place);
    told.table("hazard", &base.hazards, |h| h.place);
    told.table("instrument", &base.equipment, |e| e.place);
    told.table("system", &base.systems, |s| s.place);
    for name in base.figures.ids() {
        if let Some(file) = whole.sources.find(&format!("figures/{name}")) {
            told.entry("figure", name, Span::new(file, 0, 0));
        }
    }
    for (_, group, _) in base.groups.iter() {
        let mut places = base.vehicles.iter().flat_map(|(_, _, v)| &v.groups).filter(|g| g.value == group);
        if let Some(place) = places.next() {
            told.entry("group", group, place.span);
        }
    }
}

struct Told<'a> {
    out: &'a mut Vec<Finding>,
    named: &'a Named,
}

impl Told<'_> {
    fn table<T>(&mut self, kind: &'static str, table: &Table<T>, place: impl Fn(&T) -> Place) {
        for (_, id, row) in table.iter() {
            self.entry(kind, id, place(row).key);
        }
    }

    fn entry(&mut self, kind: &'static str, id: &str, span: Span) {
        if !self.named.has(kind, id) {
            make_room(self.out);
            let finding = Finding::new(RULE.name, Level::Note, span, format!("nothing names the {kind} `{id}`"));
            self.out.push(finding.help("take it out if nobody needs it"));
        }
    }
}

/// The ids of everything that something names, by kind.
#[derive(Default)]
struct Named(BTreeMap<&'static str, BTreeSet<String>>);

impl Named {
    fn has(&self, kind: &'static str, id: &str) -> bool {
        self.0.get(kind).is_some_and(|ids| ids.contains(id))
    }

    fn id(&mut self, kind: &'static str, id: &str) {
        let ids = self.0.entry(kind).or_default();
        if !ids.contains(id) {
            ids.insert(id.to_owned());
        }
    }

    fn set<T>(&mut self, kind: &'static str, table: &Table<T>, set: &Set<T>) {
        for ix in set.iter() {
            self.id(kind, table.id(ix));
        }
    }

    fn by_procedures(&mut self, whole: &Whole<'_>) {
        let base = whole.base;
        for digest in whole.digests {
            self.set("code", &base.codes, &digest.code_set);
            self.set("spec", &base.specs, &digest.specs.or(&digest.changed));
            self.set("check", &base.checks, &digest.checks);
            self.set("repair", &base.repairs, &digest.repairs);
            self.set("setup", &base.setups, &digest.setups);
            self.set("hazard", &base.hazards, &digest.hazards.or(&digest.waived));
            self.set("instrument", &base.equipment, &digest.equipment);
            if let Some(system) = digest.system {
                self.id("system", base.systems.id(system));
            }
            for figure in &digest.figures {
                self.id("figure", &figure.value);
            }
            for who in &digest.who {
                self.id("group", who);
            }
        }
    }

    fn by_tables(&mut self, base: &Base) {
        for (_, _, spec) in base.specs.iter() {
            for who in spec.entries.iter().filter_map(|e| e.who.as_ref()) {
                self.id("group", who);
            }
        }
        for (_, _, bay) in base.shop.bays.iter() {
            self.set("instrument", &base.equipment, &bay.has);
        }
        for (_, _, check) in base.checks.iter() {
            if let Kind::Measure(measure) = &check.kind
                && let Some(spec) = &measure.spec
            {
                self.id("spec", base.specs.id(spec.value));
            }
            for key in &check.changes.keys {
                if let crate::model::FactKey::Spec(spec) = &key.value {
                    self.id("spec", base.specs.id(*spec));
                }
            }
            let shared = &check.shared;
            self.set("setup", &base.setups, &shared.setup.iter().map(|s| s.value).collect());
            self.set(
                "instrument",
                &base.equipment,
                &shared.with.iter().flat_map(|w| w.value.iter().copied()).collect(),
            );
            self.hazards(base, shared.hazards.iter().chain(&shared.away_from));
            if let Some(figure) = &shared.figure {
                self.id("figure", &figure.value);
            }
        }
        for (_, _, repair) in base.repairs.iter() {
            self.set(
                "instrument",
                &base.equipment,
                &repair.with.iter().flat_map(|w| w.value.iter().copied()).collect(),
            );
            self.hazards(base, &repair.hazards);
            for confirm in &repair.after.confirm {
                if let crate::model::Confirm::Check { check, .. } = confirm {
                    self.id("check", base.checks.id(check.value));
                }
            }
        }
        for (_, _, setup) in base.setups.iter() {
            self.set("instrument", &base.equipment, &setup.with.iter().flat_map(|w| w.value.iter().copied()).collect());
            self.set("setup", &base.setups, &setup.ends.iter().map(|s| s.value).collect());
            self.hazards(base, setup.hazards.iter().chain(&setup.away_from));
        }
        let of_instruments = base.equipment.iter().flat_map(|(_, _, e)| &e.hazards);
        self.hazards(base, of_instruments.chain(base.systems.iter().flat_map(|(_, _, s)| &s.hazards)));
        self.hazards(base, base.hazards.iter().flat_map(|(_, _, h)| &h.never_with));
    }

    fn hazards<'a>(
        &mut self,
        base: &Base,
        hazards: impl IntoIterator<Item = &'a crate::source::Spanned<crate::model::HazardIx>>,
    ) {
        for hazard in hazards {
            self.id("hazard", base.hazards.id(hazard.value));
        }
    }

    fn by_words(&mut self, whole: &Whole<'_>) {
        for page in pages(whole) {
            let here = whole.sources.file(page.file).path();
            for link in page.links {
                match link.to.value.split_once(':') {
                    Some(("equipment", id)) => self.id("instrument", id),
                    Some((kind, id)) => {
                        if let Some(kind) = ["code", "spec", "hazard"].into_iter().find(|k| *k == kind) {
                            self.id(kind, id);
                        }
                    }
                    None => self.file(here, link.to.value.split('#').next().unwrap_or("")),
                }
            }
        }
    }

    fn file(&mut self, here: &str, link: &str) {
        let Some(path) = path_from(here, link) else { return };
        let id = |folder: &str| path.strip_prefix(folder)?.strip_suffix(".md").map(str::to_owned);
        for (kind, folder) in [("system", "systems/"), ("check", "checks/"), ("repair", "repairs/")] {
            if let Some(id) = id(folder).filter(|_| path != here) {
                self.id(kind, &id);
            }
        }
        if let Some(figure) = path.strip_prefix("figures/") {
            self.id("figure", figure);
        }
    }
}
