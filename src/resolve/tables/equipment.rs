//! `equipment.yaml`, `setups.yaml`, `hazards.yaml`.
//!
//! In: their trees. Out: rows in the base.

use super::{broken, place, rows, title};
use crate::finding::make_room;
use crate::model::{Base, Equipment, Hazard, InstrumentRange, Range, Setup, Signal};
use crate::parse::yaml::{Entry, Node};
use crate::parse::{amount, phrase};
use crate::quantity::{Domain, limit_set};
use crate::resolve::cx::{Cx, number, plain, quantity_named, read, text};
use crate::source::Spanned;

/// Hazards: first the rows, then what they must never meet (they name each other).
pub fn hazards(cx: &mut Cx<'_>, tree: Option<&Node>, base: &mut Base) {
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let signal = plain(&entry.value, "signal").and_then(|s| Signal::from_name(&s)).unwrap_or(Signal::Warning);
        base.hazards.insert(
            entry.key.value.clone(),
            Hazard {
                place: place(entry),
                signal,
                // Pages show it as words; findings name the id.
                title: plain(&entry.value, "title").unwrap_or_else(|| entry.key.value.replace('-', " ")),
                text: plain(&entry.value, "text").unwrap_or_default(),
                never_with: Vec::new(),
            },
        );
    }
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let never = cx.names(&entry.value, "never-with", &base.hazards, "hazard", false);
        if let Some(ix) = base.hazards.find(&entry.key.value) {
            base.hazards[ix].never_with = never;
        }
    }
}

/// Instruments.
pub fn equipment(cx: &mut Cx<'_>, tree: Option<&Node>, base: &mut Base) {
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let measures = entry.value.get("measures").map(Node::entries).unwrap_or_default();
        let measures = measures.iter().filter_map(|m| instrument_range(cx, m)).collect();
        let hazards = cx.names(&entry.value, "hazards", &base.hazards, "hazard", broken(base, "hazards.yaml"));
        base.equipment
            .insert(entry.key.value.clone(), Equipment { place: place(entry), title: title(entry), measures, hazards });
    }
}

fn instrument_range(cx: &mut Cx<'_>, entry: &Entry) -> Option<InstrumentRange> {
    let quantity = quantity_named(cx, &entry.key)?;
    let q = quantity.value;
    let range = entry.value.get("range").and_then(|node| {
        let phrase = read(cx, node, |t| phrase::parse_spec_range(t, q))?;
        let set = limit_set(&phrase, &Domain::new(q, true));
        Some(Range { text: node.spanned()?, set })
    });
    let resolution = entry.value.get("resolution").and_then(|node| read(cx, node, |t| amount::parse(t, q.step())));
    let accuracy = entry
        .value
        .get("accuracy")
        .and_then(|node| read(cx, node, |t| amount::accuracy(t, q)).map(|a| Spanned::new(a, node.span)));
    Some(InstrumentRange { quantity, range, resolution, accuracy })
}

/// Setups: first the rows, then which end which.
pub fn setups(cx: &mut Cx<'_>, tree: Option<&Node>, base: &mut Base) {
    let no_hazards = broken(base, "hazards.yaml");
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let row = &entry.value;
        let setup = Setup {
            place: place(entry),
            title: title(entry),
            minutes: number(row, "minutes").map(|m| m.value),
            with: cx.equipment(row, "with", base),
            hazards: cx.names(row, "hazards", &base.hazards, "hazard", no_hazards),
            away_from: cx.names(row, "away-from", &base.hazards, "hazard", no_hazards),
            ends: Vec::new(),
            undo: text(row, "undo"),
        };
        base.setups.insert(entry.key.value.clone(), setup);
    }
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let ends = cx.names(&entry.value, "ends", &base.setups, "setup", false);
        if let Some(ix) = base.setups.find(&entry.key.value) {
            base.setups[ix].ends = ends;
        }
    }
}
