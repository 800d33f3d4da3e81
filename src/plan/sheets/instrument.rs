//! Pages of equipment and of preparations.
//!
//! In: an instrument or a setup. Out: [`Page`].

use super::{fact, sheet, text};
use crate::model::{EquipmentIx, SetupIx};
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::limits::capital;
use crate::plan::page::{Link, Page, Row, Sheet};
use crate::plan::step::{minutes, with};

pub(super) fn page(frame: &Frame<'_>, ix: EquipmentIx) -> Page {
    let table = &frame.base.equipment;
    let row = &table[ix];
    let mut out = Sheet::default();
    out.cautions(frame.cautions(row.hazards.iter().map(|h| h.value)));
    let rows = row
        .measures
        .iter()
        .map(|range| {
            let cell = |says: Option<&str>| vec![Link::text(says.unwrap_or("not given"))];
            Row {
                on: None,
                cells: vec![
                    vec![Link::text(capital(range.quantity.value.name()))],
                    cell(range.range.as_ref().map(|r| r.text.value.as_str())),
                    cell(range.resolution.as_ref().map(|r| r.text.as_str())),
                    cell(range.accuracy.as_ref().map(|a| frame.sources.text(a.span))),
                ],
            }
        })
        .collect();
    out.table("Measures", &["Quantity", "Range", "Resolution", "Accuracy"], rows);
    let bays = frame.base.shop.bays.iter().filter(|(_, _, bay)| bay.has.contains(ix));
    out.facts(vec![fact("At hand in", bays.map(|(_, _, bay)| Link::text(&bay.title)).collect())]);
    out.links("Used in", frame.of_equipment(ix));
    sheet(PageKind::Equipment, table.id(ix), &row.title, None, out)
}

pub(super) fn setup(frame: &Frame<'_>, ix: SetupIx) -> Page {
    let table = &frame.base.setups;
    let row = &table[ix];
    let hazard = |ix| {
        let hazards = &frame.base.hazards;
        Link::to(&hazards[ix].title, PageKind::Hazards.page(hazards.id(ix)))
    };
    let ends = row.ends.iter().map(|s| Link::to(&table[s.value].title, PageKind::Setups.page(table.id(s.value))));
    let mut out = Sheet::default();
    out.cautions(frame.cautions(row.hazards.iter().map(|h| h.value)));
    out.facts(vec![
        fact("Time", row.minutes.iter().map(|m| Link::text(minutes(m))).collect()),
        fact("With", with(frame, &row.with)),
        fact("Does away with", row.away_from.iter().map(|h| hazard(h.value)).collect()),
        fact("Ends", ends.collect()),
        fact("Put back later", text(row.undo.as_ref().map(|u| u.value.as_str()))),
    ]);
    out.links("Needed in", frame.of_setup(ix));
    sheet(PageKind::Setups, table.id(ix), &row.title, None, out)
}
