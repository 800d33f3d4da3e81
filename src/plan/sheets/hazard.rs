//! Pages of hazards and of terms.
//!
//! In: a hazard or a term. Out: [`Page`].

use super::{fact, sheet};
use crate::model::{HazardIx, TermIx};
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::limits::capital;
use crate::plan::page::{Link, Page, Sheet};

pub(super) fn page(frame: &Frame<'_>, ix: HazardIx) -> Page {
    let table = &frame.base.hazards;
    let row = &table[ix];
    let link = |ix| Link::to(&table[ix].title, PageKind::Hazards.page(table.id(ix)));
    // `never-with` is symmetric: either may name the other.
    let never = table
        .iter()
        .filter(|(other, _, other_row)| {
            row.never_with.iter().any(|h| h.value == *other) || other_row.never_with.iter().any(|h| h.value == ix)
        })
        .map(|(other, _, _)| link(other));
    let setups = frame.base.setups.iter().filter(|(_, _, s)| s.hazards.iter().any(|h| h.value == ix));
    let equipment = frame.base.equipment.iter().filter(|(_, _, e)| e.hazards.iter().any(|h| h.value == ix));
    let systems = frame.base.systems.iter().filter(|(_, _, s)| s.hazards.iter().any(|h| h.value == ix));
    let mut out = Sheet::default();
    out.cautions(vec![frame.caution(ix)]);
    out.facts(vec![
        fact("Never together with", never.collect()),
        fact("Systems", systems.map(|(_, id, s)| Link::to(&s.title, PageKind::Systems.page(id))).collect()),
        fact("Preparations", setups.map(|(_, id, s)| Link::to(&s.title, PageKind::Setups.page(id))).collect()),
        fact("Equipment", equipment.map(|(_, id, e)| Link::to(&e.title, PageKind::Equipment.page(id))).collect()),
    ]);
    out.links("Stands in", frame.of_hazard(ix));
    sheet(PageKind::Hazards, table.id(ix), &capital(&row.title), None, out)
}

pub(super) fn term(frame: &Frame<'_>, ix: TermIx) -> Page {
    let table = &frame.base.terms;
    let row = &table[ix];
    let mut out = Sheet { lead: row.means.clone(), ..Sheet::default() };
    out.facts(vec![fact("Also called", row.also.iter().map(Link::text).collect())]);
    sheet(PageKind::Terms, table.id(ix), &row.title, None, out)
}
