//! The page of a spec.
//!
//! In: a spec. Out: [`Page`].

use super::{fact, sheet, text};
use crate::model::{Set, SpecIx};
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::limits::{capital, groups, value_text};
use crate::plan::page::{Link, Page, Row, Sheet};
use crate::plan::step::worked_out;

pub(super) fn page(frame: &Frame<'_>, ix: SpecIx) -> Page {
    let table = &frame.base.specs;
    let spec = &table[ix];
    let mut out = Sheet::default();
    out.facts(vec![
        fact("Quantity", vec![Link::text(spec.quantity.value.name())]),
        fact("Where", text(spec.at.as_deref())),
        fact("When", text(spec.when.as_deref())),
        fact("Worked out", text(spec.worked_out.as_ref().map(worked_out).as_deref())),
        fact(
            "Source",
            vec![Link::text(spec.source.as_ref().map_or("no source given", |source| source.value.as_str()))],
        ),
    ]);
    let all = Set::all(frame.base.vehicles.len());
    let rows = groups(spec, &all)
        .into_iter()
        .map(|(entry, set)| Row {
            on: frame.on(&set),
            cells: vec![
                vec![Link::text(capital(&frame.vehicle_titles(&set)))],
                vec![Link::text(value_text(frame, spec, entry))],
            ],
        })
        .collect();
    out.table("Limits", &["Vehicle", "Limit"], rows);
    out.links("Measured in", frame.of_spec(ix));
    sheet(PageKind::Specs, table.id(ix), &spec.title, None, out)
}
