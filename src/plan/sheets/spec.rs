//! The page of a spec.
//!
//! In: a spec. Out: [`Page`].

use super::{fact, sheet, text};
use crate::model::{Limits, Set, SpecIx};
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::limits::{NONE, PLACEHOLDER, band_text, capital, groups};
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
    let mut names = spec.band_names();
    if names.is_empty() {
        // Nothing but placeholders.
        names.push("in spec");
    }
    let rows = groups(spec, &all)
        .into_iter()
        .map(|(entry, set)| {
            let mut cells = vec![vec![Link::text(capital(&frame.vehicle_titles(&set)))]];
            match entry.and_then(|at| spec.entries.get(at)).map(|entry| &entry.limits) {
                Some(limits @ Limits::Bands(_)) => cells.extend(names.iter().map(|name| {
                    vec![Link::text(limits.band(name).map_or(NONE.to_owned(), |band| band_text(frame, spec, band)))]
                })),
                missing => {
                    let text = if missing.is_some() { PLACEHOLDER } else { NONE };
                    cells.push(vec![Link::text(text)]);
                }
            }
            Row { on: frame.on(&set), cells }
        })
        .collect();
    let columns: Vec<String> = std::iter::once("Vehicle".to_owned()).chain(names.iter().map(|n| capital(n))).collect();
    out.table("Limits", &columns.iter().map(String::as_str).collect::<Vec<_>>(), rows);
    out.links("Measured in", frame.of_spec(ix));
    sheet(PageKind::Specs, table.id(ix), &spec.title, None, out)
}
