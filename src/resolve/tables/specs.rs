//! `specs/*.yaml`.
//!
//! In: their trees. Out: [`Spec`]s, with the entry that holds for each vehicle.

use super::place;
use crate::finding::{Finding, Level, make_room};
use crate::model::{Band, Base, Limits, Place, Spec, SpecEntry, Take, WorkedOut};
use crate::parse::keys::SPEC;
use crate::parse::phrase;
use crate::parse::shape::misspelt;
use crate::parse::yaml::{Entry, Kind, Node};
use crate::quantity::{Domain, Phrase, Quantity, limit_set};
use crate::resolve::cx::{Cx, plain, plains, quantity, read, text};
use crate::source::Spanned;

/// Reads the specs of one file.
pub fn specs(cx: &mut Cx<'_>, tree: &Node, base: &mut Base) {
    for entry in tree.entries() {
        make_room(&mut cx.out);
        if let Some(first) = base.specs.get(&entry.key.value) {
            if first.place.key.file != entry.key.span.file {
                cx.push(
                    Finding::new(
                        "duplicate-id",
                        Level::Error,
                        entry.key.span,
                        format!("spec `{}` stands in two files", entry.key.value),
                    )
                    .label(first.place.key, "first here")
                    .help("give one of them another id, or take it out"),
                );
            }
            continue;
        }
        match spec(cx, entry, base) {
            Some(spec) => {
                base.specs.insert(entry.key.value.clone(), spec);
            }
            // Why was told there: who names it is not blamed.
            None => {
                base.broken.insert("specs".to_owned());
            }
        }
    }
}

fn spec(cx: &mut Cx<'_>, entry: &Entry, base: &Base) -> Option<Spec> {
    let row = &entry.value;
    if !matches!(row.kind, Kind::Map(_)) {
        return None;
    }
    let quantity = quantity(cx, row, "quantity")?;
    let worked_out = worked_out(cx, row, entry, &quantity);
    let lost = std::mem::take(&mut cx.lost);
    let entries = entries(cx, row, entry, quantity.value);
    let by_vehicle = by_vehicle(cx, &entries, base);
    let is_faulty = cx.lost || ["value", "values"].iter().any(|key| row.get(key).is_some_and(Node::lacks_something));
    cx.lost |= lost;
    let names_negative = entries.iter().any(|e| match &e.limits {
        Limits::Placeholder => false,
        Limits::Bands(bands) => bands.iter().any(|b| b.phrase.names_negative()),
    });
    Some(Spec {
        place: place(entry),
        title: plain(row, "title").unwrap_or_else(|| entry.key.value.clone()),
        quantity,
        at: plain(row, "at"),
        when: plain(row, "when"),
        source: text(row, "source"),
        worked_out,
        entries,
        by_vehicle,
        names_negative,
        is_faulty,
    })
}

fn worked_out(cx: &mut Cx<'_>, row: &Node, entry: &Entry, result: &Spanned<Quantity>) -> Option<WorkedOut> {
    let of = quantity(cx, row, "of");
    let take = plain(row, "take").and_then(|t| Take::from_name(&t));
    let names = plains(row, "names");
    match (row.get("of").is_some(), row.get("take").is_some()) {
        (false, false) => {
            if let Some(names) = row.entry("names") {
                cx.bad(names.key.span, "`names` needs `of` and `take`: the parts of a worked-out reading")
                    .help
                    .push("add `of:` (a quantity) and `take:`".into());
            }
            return None;
        }
        (true, true) => {}
        (has_of, _) => {
            let missing = if has_of { "take" } else { "of" };
            cx.bad(entry.key.span, format!("a worked-out reading needs `of` and `take`: `{missing}` is missing"));
            return None;
        }
    }
    let take = take?;
    if take == Take::Difference && names.len() != 2 {
        let span = row.entry("names").map_or(entry.key.span, |e| e.key.span);
        cx.bad(span, format!("`difference` is first minus second: expected two names, found {}", names.len()));
    }
    let of = of?.value;
    if take != Take::LowestOfHighest && (of, result.value) == (Quantity::Temperature, Quantity::Temperature) {
        // 9 °F apart are 5 °C apart, but 9 °F on a thermometer are -12.8 °C.
        let better = Quantity::TemperatureDifference.name();
        let message = format!("the {} of temperatures: expected `{better}`, found `{}`", take.name(), of.name());
        let finding = Finding::new("bad-value", Level::Error, result.span, message);
        cx.push(finding.help(format!("write `{better}`")).mend(format!("write `{better}`"), result.span, better));
    }
    Some(WorkedOut { of, names, take })
}

fn entries(cx: &mut Cx<'_>, row: &Node, owner: &Entry, quantity: Quantity) -> Vec<SpecEntry> {
    match (row.entry("value"), row.entry("values")) {
        (Some(one), None) => {
            let limits = limits(cx, &one.value, quantity);
            limits.map(|limits| SpecEntry { who: None, place: place(one), limits }).into_iter().collect()
        }
        (None, Some(many)) => many
            .value
            .entries()
            .iter()
            .filter_map(|e| {
                let limits = limits(cx, &e.value, quantity)?;
                Some(SpecEntry { who: Some(e.key.value.clone()), place: place(e), limits })
            })
            .collect(),
        (Some(one), Some(many)) => {
            let finding = cx.bad(many.key.span, "a spec has `value` or `values`, not both");
            finding.labels.push(crate::finding::Label { span: one.key.span, message: "the other".into() });
            Vec::new()
        }
        (None, None) if ["value", "values"].iter().any(|key| misspelt(row, &SPEC, key)) => {
            cx.lost = true;
            Vec::new()
        }
        (None, None) => {
            cx.bad(owner.key.span, format!("spec `{}` needs `value` or `values`", owner.key.value))
                .help
                .push("add `value: ...` for every vehicle, or `values:` with a line per vehicle or group".into());
            Vec::new()
        }
    }
}

fn limits(cx: &mut Cx<'_>, node: &Node, quantity: Quantity) -> Option<Limits> {
    if node.as_text() == Some("TBD") {
        return Some(Limits::Placeholder);
    }
    if node.as_text().is_some() {
        let band = band(cx, "in spec", node, quantity)?;
        return Some(Limits::Bands(vec![band]));
    }
    let mut bands: Vec<Band> = Vec::new();
    for entry in node.entries() {
        let name = &entry.key.value;
        if name != "in spec" {
            let key = Node {
                span: entry.key.span,
                kind: Kind::Scalar(crate::parse::yaml::Scalar {
                    text: name.clone(),
                    style: crate::parse::yaml::Style::Plain,
                }),
            };
            if read(cx, &key, phrase::check_band_name).is_none() {
                continue;
            }
        }
        if entry.value.as_text() == Some("TBD") {
            cx.bad(entry.value.span, format!("the band `{name}` alone can't be `TBD`"))
                .help
                .push("write `TBD` in place of all bands, or leave this one out until it is known".into());
            continue;
        }
        if let Some(band) = band(cx, name, &entry.value, quantity) {
            bands.push(band);
        }
    }
    overlapping(cx, &bands, quantity);
    (!bands.is_empty()).then_some(Limits::Bands(bands))
}

fn band(cx: &mut Cx<'_>, name: &str, node: &Node, quantity: Quantity) -> Option<Band> {
    let phrase = read(cx, node, |t| phrase::parse_spec_range(t, quantity))?;
    let set = limit_set(&phrase, &Domain::new(quantity, true));
    Some(Band { name: name.to_owned(), text: node.spanned()?, phrase, set })
}

/// Two bands of one spec that share more than an end point would make one reading mean two things.
fn overlapping(cx: &mut Cx<'_>, bands: &[Band], quantity: Quantity) {
    for (i, one) in bands.iter().enumerate() {
        for other in &bands[i + 1..] {
            let both = one.set.intersect(&other.set);
            let only_points = both.spans().iter().all(|s| s.point().is_some()) && !both.open_circuit;
            let with_spec = one.name == "in spec" || other.name == "in spec";
            if both.is_empty() || (only_points && with_spec) {
                continue;
            }
            let finding = Finding::new(
                "reading-overlap",
                Level::Error,
                other.text.span,
                format!("the bands `{}` and `{}` both hold some readings", one.name, other.name),
            )
            .label(one.text.span, format!("`{}`", one.name));
            cx.push(match without(other, one, quantity).filter(|_| only_points) {
                Some(text) => {
                    let span = other.text.span;
                    finding.help(format!("write `{text}`")).mend(format!("write `{text}`"), span, text)
                }
                None => finding
                    .help("write one of them with `above` or `to below`, so that each reading belongs to one band"),
            });
        }
    }
}

/// A band in words without the readings of another, where it is one range and stays one.
fn without(band: &Band, other: &Band, quantity: Quantity) -> Option<String> {
    let rest = band.set.minus(&other.set);
    let unit = band.phrase.ends().next()?.amount.unit;
    let is_range = matches!(band.phrase, Phrase::Range { .. }) && rest.spans().len() == 1;
    is_range.then(|| rest.words(unit, &Domain::new(quantity, true)))
}

/// The most specific entry wins: vehicle before group. Two groups that both match with different values are an error.
fn by_vehicle(cx: &mut Cx<'_>, entries: &[SpecEntry], base: &Base) -> Vec<Option<usize>> {
    let mut chosen: Vec<Option<usize>> = vec![None; base.vehicles.len()];
    let mut by_group: Vec<Option<usize>> = vec![None; base.vehicles.len()];
    let mut told = std::collections::BTreeSet::new();
    for (at, entry) in entries.iter().enumerate() {
        let Some(who) = &entry.who else {
            chosen.fill(Some(at));
            continue;
        };
        if let Some(vehicle) = base.vehicles.find(who) {
            chosen[vehicle.raw()] = Some(at);
            continue;
        }
        let name = Spanned::new(who.clone(), entry.place.key);
        let Some(group) = cx.vehicle_or_group(&name, base) else { continue };
        for vehicle in group.iter() {
            match by_group[vehicle.raw()] {
                None => by_group[vehicle.raw()] = Some(at),
                Some(first) if same(&entries[first].limits, &entry.limits) => {}
                Some(first) => {
                    let named = entries.iter().any(|e| e.who.as_deref() == Some(base.vehicles.id(vehicle)));
                    if !named && told.insert((first, at)) {
                        two_groups(cx, base.vehicles.id(vehicle), &entries[first], entry);
                    }
                }
            }
        }
    }
    chosen.iter().zip(by_group).map(|(own, group)| own.or(group)).collect()
}

fn two_groups(cx: &mut Cx<'_>, vehicle: &str, first: &SpecEntry, second: &SpecEntry) {
    let name = |e: &SpecEntry| e.who.clone().unwrap_or_default();
    let finding = cx.bad(
        second.place.key,
        format!("`{vehicle}` is in both groups `{}` and `{}`, which have different values", name(first), name(second)),
    );
    finding.labels.push(crate::finding::Label { span: first.place.key, message: "the other group".into() });
    finding.help.push(format!("add a line for `{vehicle}` itself"));
}

fn same(one: &Limits, other: &Limits) -> bool {
    match (one, other) {
        (Limits::Placeholder, Limits::Placeholder) => true,
        (Limits::Bands(a), Limits::Bands(b)) => {
            a.len() == b.len() && a.iter().all(|x| other.band(&x.name).is_some_and(|y| y.set == x.set)) && !b.is_empty()
        }
        _ => false,
    }
}

/// The place of a whole file: its first line is its key.
pub fn file_place(file: crate::source::FileId, text: &str) -> Place {
    let line = text.find('\n').unwrap_or(text.len());
    Place { key: crate::source::Span::new(file, 0, line), whole: crate::source::Span::new(file, 0, text.len()) }
}
