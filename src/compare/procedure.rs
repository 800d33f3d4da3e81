//! What one procedure says otherwise.
//!
//! In: a procedure of each side. Out: its [`Change`]s; none exactly where the two mean the same.

use std::collections::BTreeSet;

use serde_json::Value;

use super::change::{Change, Kind};
use super::side::Held;
use super::{rows, steps, words};
use crate::model::meaning;
use crate::model::{Cause, Procedure};
use crate::quantity::Rational;
use crate::quantity::number::{ratio, show};

/// Compares.
pub fn compare(old: Held<'_>, new: Held<'_>) -> Vec<Change> {
    let before = meaning::meaning(old.base(), old.procedure);
    let after = meaning::meaning(new.base(), new.procedure);
    if before == after {
        return Vec::new();
    }
    let mut out = Vec::new();
    head(&before, &after, &mut out);
    let both = ids(&before["vehicles"]).intersection(&ids(&after["vehicles"])).cloned().collect();
    causes(old, new, &before["causes"], &after["causes"], &both, &mut out);
    steps::compare(old, new, &before["steps"], &after["steps"], &mut out);
    after_repair(&before["after repair"], &after["after repair"], &mut out);
    let mut shared = Vec::new();
    rows::specs(old.side, new.side, &before["specs"], &after["specs"], false, &mut shared);
    for table in ["setups", "hazards", "repairs"] {
        rows::table(old.side, new.side, table, &before[table], &after[table], false, &mut shared);
    }
    out.extend(shared.into_iter().map(|change| Change { shared: true, ..change }));
    if out.is_empty() {
        // Everything that the meaning holds is told above; should a key be added there and forgotten here, it is still told.
        out.push(Change::turned(Kind::Step, "the procedure", "something else", "changed"));
    }
    out
}

fn head(before: &Value, after: &Value, out: &mut Vec<Change>) {
    let fields = [
        ("codes", Kind::Code, "fault codes"),
        ("trips", Kind::Code, "trips to set the codes"),
        ("system", Kind::Step, "system"),
        ("start", Kind::Route, "first step"),
    ];
    if before["vehicles"] != after["vehicles"] {
        let (old, new) = (ids(&before["vehicles"]), ids(&after["vehicles"]));
        let differ: Vec<String> = old.symmetric_difference(&new).cloned().collect();
        let (was, is) = (words::plain(&before["vehicles"]), words::plain(&after["vehicles"]));
        out.push(Change::turned(Kind::Vehicle, "applies to", was, is).on(differ));
    }
    for (key, kind, subject) in fields {
        if before[key] != after[key] {
            out.push(Change::turned(kind, subject, words::plain(&before[key]), words::plain(&after[key])));
        }
    }
}

fn ids(list: &Value) -> BTreeSet<String> {
    list.as_array().into_iter().flatten().filter_map(|v| v.as_str().map(str::to_owned)).collect()
}

fn causes(old: Held<'_>, new: Held<'_>, before: &Value, after: &Value, both: &BTreeSet<String>, out: &mut Vec<Change>) {
    let shares = changed_shares(old.procedure, new.procedure);
    for (id, was, is) in rows::union(before, after) {
        let subject = format!("cause {id}");
        let (Some(was), Some(is)) = (was, is) else {
            let row = if is.is_some() { new.procedure.causes.get(&id) } else { old.procedure.causes.get(&id) };
            let told = row.map(cause_words).unwrap_or_default();
            out.push(match is {
                Some(_) => Change::added(Kind::Cause, subject, told),
                None => Change::removed(Kind::Cause, subject, told),
            });
            continue;
        };
        if let Some((was, is)) = shares.iter().find(|(s, ..)| *s == id).map(|(_, was, is)| (was, is)) {
            out.push(Change::turned(Kind::Cause, format!("{subject}, share"), was, is));
        }
        if was["fix"] != is["fix"] {
            let fix = |v: &Value| match (&v["here"], &v["shared"]) {
                (Value::String(here), _) => here.clone(),
                (_, Value::String(shared)) => format!("the shared repair {shared}"),
                _ => "none".into(),
            };
            out.push(Change::turned(Kind::Cause, format!("{subject}, fix"), fix(&was["fix"]), fix(&is["fix"])));
        }
        vehicles(&subject, was, is, both, out);
        for (key, field) in [
            ("part name", "part"),
            ("part number", "part number"),
            ("part price", "price"),
            ("part minutes", "minutes to fit"),
        ] {
            if was[key] != is[key] {
                let told = |v: &Value| if key == "part minutes" { words::minutes(v) } else { words::plain(v) };
                out.push(Change::turned(Kind::Part, format!("{subject}, {field}"), told(&was[key]), told(&is[key])));
            }
        }
    }
}

/// Vehicles that a cause exists on; `both`: those that the procedure applies to on both sides. That it applies to others is told once.
fn vehicles(subject: &str, was: &Value, is: &Value, both: &BTreeSet<String>, out: &mut Vec<Change>) {
    let (old, new) = (ids(&was["vehicles"]), ids(&is["vehicles"]));
    if old.intersection(both).eq(new.intersection(both)) {
        return;
    }
    let differ: Vec<String> = old.symmetric_difference(&new).cloned().collect();
    let (was, is) = (words::plain(&was["vehicles"]), words::plain(&is["vehicles"]));
    out.push(Change::turned(Kind::Cause, format!("{subject}, exists on"), was, is).on(differ));
}

fn cause_words(cause: &Cause) -> String {
    match &cause.share {
        Some(share) => format!("{}, share {}", cause.title, show(&share.value)),
        None => cause.title.clone(),
    }
}

/// A cause with its share before and after.
type Shares<'a> = (&'a str, Option<Rational>, Option<Rational>);

/// Causes of both whose odds beside each other changed: shares are parts, so that twice as many parts of each mean the same.
/// Where one cause kept its number, the others are compared as written.
fn changed_shares(old: &Procedure, new: &Procedure) -> Vec<(String, String, String)> {
    let share = |p: &Procedure, id: &str| p.causes.get(id).and_then(|c| c.share.as_ref().map(|s| s.value.clone()));
    let total = |p: &Procedure| {
        p.causes
            .iter()
            .filter_map(|(_, _, c)| c.share.as_ref().map(|s| &s.value))
            .fold(ratio(0, 1), |sum, share| &sum + share)
    };
    let both: Vec<&str> = old.causes.ids().filter(|id| new.causes.get(id).is_some()).collect();
    let rows: Vec<Shares<'_>> = both.into_iter().map(|id| (id, share(old, id), share(new, id))).collect();
    let shares = |side: fn(&Shares<'_>) -> Option<Rational>| {
        let list: Vec<Option<Rational>> = rows.iter().map(side).collect();
        meaning::in_proportion(&list.iter().map(Option::as_ref).collect::<Vec<_>>())
    };
    if shares(|r| r.1.clone()) == shares(|r| r.2.clone()) {
        return Vec::new();
    }
    let of = |share: &Option<Rational>, p: &Procedure| match share {
        Some(share) => format!("{} of {}", show(share), show(&total(p))),
        None => "none".to_owned(),
    };
    let same_parts = rows.iter().any(|(_, was, is)| was == is);
    let (sum_old, sum_new) = (total(old), total(new));
    rows.iter()
        .filter(|(_, was, is)| match (was, is) {
            (Some(a), Some(b)) if !same_parts => a * &sum_new != b * &sum_old,
            (a, b) => a != b,
        })
        .map(|(id, was, is)| ((*id).to_owned(), of(was, old), of(is, new)))
        .collect()
}

fn after_repair(before: &Value, after: &Value, out: &mut Vec<Change>) {
    for (key, subject) in [
        ("confirm", "after the repair, confirmed by"),
        ("clear codes", "after the repair, clear codes"),
        ("trips", "after the repair, trips"),
    ] {
        if before[key] != after[key] {
            out.push(Change::turned(Kind::Repair, subject, words::plain(&before[key]), words::plain(&after[key])));
        }
    }
}
