//! The page of a vehicle.
//!
//! In: a vehicle. Out: [`Page`].

use super::{fact, sheet};
use crate::model::{Set, VehicleIx};
use crate::plan::address::PageKind;
use crate::plan::frame::{Frame, by_title, rows_by_title};
use crate::plan::limits::value_text;
use crate::plan::page::{Link, Page, Row, Sheet};

pub(super) fn page(frame: &Frame<'_>, ix: VehicleIx) -> Page {
    let base = frame.base;
    let row = &base.vehicles[ix];
    let mut out = Sheet::default();
    out.facts(vec![fact("Groups", row.groups.iter().map(|g| Link::text(&g.value)).collect())]);
    let procedures = frame.digests.iter().filter(|d| d.applies.contains(ix)).map(|d| frame.procedure_of(d));
    out.links("Procedures", by_title(procedures.collect()));
    let specs = base.specs.iter().filter_map(|(spec_ix, _, spec)| {
        let entry = spec.by_vehicle.get(ix.raw()).copied().flatten()?;
        let value = Link::text(value_text(frame, spec, Some(entry)));
        let when = [spec.at.as_deref(), spec.when.as_deref()].into_iter().flatten().collect::<Vec<_>>();
        Some(Row { on: None, cells: vec![vec![frame.spec(spec_ix)], vec![value], vec![Link::text(when.join("; "))]] })
    });
    out.table("Specs", &["Spec", "Limit", "Where and when"], rows_by_title(specs));
    let id = base.vehicles.id(ix);
    sheet(PageKind::Vehicles, id, &row.title, frame.on(&Set::one(ix)), out)
}
