//! The page of a fault code.
//!
//! In: a code. Out: [`Page`].

use super::{fact, sheet, text};
use crate::model::CodeIx;
use crate::plan::address::PageKind;
use crate::plan::frame::Frame;
use crate::plan::page::{Link, Page, Sheet};

/// The first letter of a fault code and the part of the vehicle it speaks of (From memory: SAE J2012 / ISO 15031-6).
const LETTERS: [(&str, &str); 4] = [("P", "powertrain"), ("B", "body"), ("C", "chassis"), ("U", "network")];

pub(super) fn page(frame: &Frame<'_>, ix: CodeIx) -> Page {
    let table = &frame.base.codes;
    let (id, row) = (table.id(ix), &table[ix]);
    let mut out = Sheet { lead: Some(row.title.clone()), ..Sheet::default() };
    let letter = LETTERS.iter().find(|(letter, _)| !row.own_form && id.starts_with(letter));
    let trips = match row.trips {
        1 => "1: it sets on the first trip with the fault".to_owned(),
        trips => format!("{trips}: it sets after {trips} trips with the fault"),
    };
    let family = table
        .iter()
        .filter(|(other, other_id, other_row)| {
            *other != ix && !row.own_form && !other_row.own_form && other_id.get(..3) == id.get(..3)
        })
        .map(|(other, _, _)| frame.code(other))
        .collect();
    out.facts(vec![
        fact("Trips to set", vec![Link::text(trips)]),
        fact("When its monitor runs", text(row.monitor.as_deref())),
        fact("Speaks of", text(letter.map(|(_, part)| *part))),
        fact("Form", text(row.own_form.then_some("the maker's own"))),
    ]);
    let procedures = frame.of_code(ix);
    if procedures.is_empty() {
        out.note("No procedure for this code yet: use the maker's information.");
    }
    out.links("Procedures", procedures);
    out.links("Codes of the same family", family);
    sheet(PageKind::Codes, id, &format!("{id} {}", row.title), None, Sheet { lead: None, ..out })
}
