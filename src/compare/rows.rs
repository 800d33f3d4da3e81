//! What shared tables say otherwise.
//!
//! In: rows of both sides, as the meaning has them. Out: [`Change`]s.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

use super::change::{Change, Kind};
use super::side::Side;
use super::words;
use crate::model::Limits;

/// Every id of two maps with its rows, in order.
pub fn union<'v>(before: &'v Value, after: &'v Value) -> Vec<(String, Option<&'v Value>, Option<&'v Value>)> {
    let empty = Map::new();
    let map = |v: &'v Value| v.as_object();
    let ids: BTreeSet<&String> =
        map(before).unwrap_or(&empty).keys().chain(map(after).unwrap_or(&empty).keys()).collect::<BTreeSet<_>>();
    let ids: Vec<String> = ids.into_iter().cloned().collect();
    ids.into_iter().map(|id| (id.clone(), before.get(&id), after.get(&id))).collect()
}

/// Everything that procedures share.
pub fn shared(old: &Side, new: &Side, before: &Value, after: &Value) -> Vec<Change> {
    let mut out = Vec::new();
    specs(old, new, &before["specs"], &after["specs"], true, &mut out);
    for table in ["setups", "hazards", "repairs", "equipment", "codes", "vehicles", "bays", "shop"] {
        self::table(old, new, table, &before[table], &after[table], true, &mut out);
    }
    out.into_iter().map(|change| Change { shared: true, ..change }).collect()
}

/// The noun and the kind of a table's rows.
fn noun(table: &str) -> (&'static str, Kind) {
    match table {
        "setups" => ("setup ", Kind::Setup),
        "hazards" => ("hazard ", Kind::Hazard),
        "repairs" => ("repair ", Kind::Repair),
        "equipment" => ("equipment ", Kind::Equipment),
        "codes" => ("fault code ", Kind::Code),
        "vehicles" => ("vehicle ", Kind::Vehicle),
        "bays" => ("bay ", Kind::Shop),
        _ => ("the ", Kind::Shop),
    }
}

/// Rows of a table but the specs'. `whole`: rows that only one side has are told too.
pub fn table(old: &Side, new: &Side, table: &str, before: &Value, after: &Value, whole: bool, out: &mut Vec<Change>) {
    let (noun, kind) = noun(table);
    for (id, was, is) in union(before, after) {
        let subject = format!("{noun}{id}");
        match (was, is) {
            (Some(was), Some(is)) => {
                for (key, a, b) in union(was, is).into_iter().filter(|(_, a, b)| a != b) {
                    let (a, b) = (a.unwrap_or(&Value::Null), b.unwrap_or(&Value::Null));
                    if key == "measures" {
                        measures(old, new, &id, a, b, out);
                        continue;
                    }
                    let told = |v: &Value| match key.as_str() {
                        "minutes" | "default minutes" => words::minutes(v),
                        _ => words::plain(v),
                    };
                    out.push(Change::turned(kind, format!("{subject}, {key}"), told(a), told(b)));
                }
            }
            (None, Some(_)) if whole => out.push(Change::added(kind, subject, "")),
            (Some(_), None) if whole => out.push(Change::removed(kind, subject, "")),
            _ => {}
        }
    }
}

/// What an instrument can show, as written.
fn measures(old: &Side, new: &Side, id: &str, before: &Value, after: &Value, out: &mut Vec<Change>) {
    for (quantity, a, b) in union(before, after).into_iter().filter(|(_, a, b)| a != b) {
        let said = |side: &Side, value: Option<&Value>| {
            let row = value.and_then(|_| side.base().equipment.get(id))?;
            let range = row.measures.iter().find(|m| m.quantity.value.name() == quantity)?;
            let part = |word: &str, text: Option<String>| text.map_or_else(String::new, |t| format!(", {word} {t}"));
            let sources = &side.linted.loaded.sources;
            let reach = range.range.as_ref().map_or_else(|| "no range".to_owned(), |r| r.text.value.clone());
            let resolution = range.resolution.as_ref().map(|r| r.show_in(r.unit));
            let accuracy = range.accuracy.as_ref().map(|a| sources.text(a.span).trim_matches(['"', '\'']).to_owned());
            Some(format!("{reach}{}{}", part("resolution", resolution), part("accuracy", accuracy)))
        };
        let subject = format!("equipment {id}, {quantity}");
        out.push(Change { old: said(old, a), new: said(new, b), ..Change::added(Kind::Equipment, subject, "") });
    }
}

/// Specs: what they measure, and their limits per vehicle. `whole`: those that only one side has are told too.
pub fn specs(old: &Side, new: &Side, before: &Value, after: &Value, whole: bool, out: &mut Vec<Change>) {
    for (id, was, is) in union(before, after) {
        match (was, is) {
            (Some(was), Some(is)) => {
                for (key, subject) in [
                    ("quantity", "measures"),
                    ("at", "measured at"),
                    ("when", "measured when"),
                    ("worked out", "worked out as"),
                ] {
                    if was[key] != is[key] {
                        let (a, b) = (words::plain(&was[key]), words::plain(&is[key]));
                        out.push(Change::turned(Kind::Limit, format!("{id}, {subject}"), a, b));
                    }
                }
                limits(old, new, &id, &was["limits"], &is["limits"], out);
            }
            (None, Some(_)) if whole => out.push(Change::added(Kind::Limit, &id, said_of(new, &id))),
            (Some(_), None) if whole => out.push(Change::removed(Kind::Limit, &id, said_of(old, &id))),
            _ => {}
        }
    }
}

/// Every different limit of a spec, once.
fn said_of(side: &Side, id: &str) -> String {
    let Some(spec) = side.base().specs.get(id) else { return String::new() };
    let mut texts: Vec<String> = Vec::new();
    for entry in &spec.entries {
        let text = words_of(&entry.limits);
        if !texts.contains(&text) {
            texts.push(text);
        }
    }
    texts.join(" / ")
}

fn words_of(limits: &Limits) -> String {
    match limits {
        Limits::Placeholder => "TBD".into(),
        Limits::Bands(bands) => match bands.as_slice() {
            [only] if only.name == "in spec" => only.text.value.clone(),
            bands => bands.iter().map(|b| format!("{} {}", b.name, b.text.value)).collect::<Vec<_>>().join(", "),
        },
    }
}

/// Limits that changed, each once with the vehicles concerned. Vehicles that only one side has are told elsewhere.
fn limits(old: &Side, new: &Side, id: &str, before: &Value, after: &Value, out: &mut Vec<Change>) {
    let mut found: BTreeMap<(String, Option<String>, Option<String>), Vec<String>> = BTreeMap::new();
    for (vehicle, was, is) in union(before, after) {
        let (Some(was), Some(is)) = (was, is) else { continue };
        if was == is {
            continue;
        }
        if !was.is_object() || !is.is_object() {
            let key = (id.to_owned(), Some(whole(old, id, &vehicle)), Some(whole(new, id, &vehicle)));
            found.entry(key).or_default().push(vehicle);
            continue;
        }
        for (band, a, b) in union(was, is).into_iter().filter(|(_, a, b)| a != b) {
            let (mut a, mut b) =
                (a.and_then(|_| text(old, id, &vehicle, &band)), b.and_then(|_| text(new, id, &vehicle, &band)));
            if a == b {
                // The same words hold other readings: whether readings below zero are asked for has changed.
                (a, b) = (a.map(|t| asked(old, id, &t)), b.map(|t| asked(new, id, &t)));
            }
            found.entry((format!("{id}, {band}"), a, b)).or_default().push(vehicle.clone());
        }
    }
    for ((subject, old, new), vehicles) in found {
        out.push(Change { old, new, ..Change::added(Kind::Limit, subject, "").on(vehicles) });
    }
}

fn text(side: &Side, id: &str, vehicle: &str, band: &str) -> Option<String> {
    let base = side.base();
    let entry = base.specs.get(id)?.entry(base.vehicles.find(vehicle)?)?;
    entry.limits.band(band).map(|b| b.text.value.clone())
}

fn whole(side: &Side, id: &str, vehicle: &str) -> String {
    let base = side.base();
    let entry = base.specs.get(id).and_then(|s| s.entry(base.vehicles.find(vehicle)?));
    entry.map_or_else(|| "no value".to_owned(), |e| words_of(&e.limits))
}

fn asked(side: &Side, id: &str, text: &str) -> String {
    let negative = side.base().specs.get(id).is_some_and(|s| s.names_negative);
    format!("{text} {} readings below zero", if negative { "with" } else { "without" })
}
