//! `vehicles.yaml`, `codes.yaml`, `terms.yaml`.
//!
//! In: their trees. Out: rows in the base.

use super::{place, rows, title};
use crate::finding::{Finding, Level, make_room};
use crate::model::{Base, Code, Set, Term, Vehicle};
use crate::parse::yaml::Node;
use crate::resolve::cx::{Cx, plain, plains, texts, whole};

/// Vehicles and groups. They share a namespace.
pub fn vehicles(cx: &mut Cx<'_>, tree: Option<&Node>, base: &mut Base) {
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let id = entry.key.value.clone();
        if id == "all" {
            cx.bad(entry.key.span, "`all` means every vehicle: it can't name one");
            continue;
        }
        let groups = texts(&entry.value, "groups");
        base.vehicles.insert(id, Vehicle { place: place(entry), title: title(entry), groups });
    }
    let mut members: indexmap::IndexMap<String, Set<Vehicle>> = indexmap::IndexMap::new();
    for (ix, id, vehicle) in base.vehicles.iter() {
        for group in &vehicle.groups {
            if base.vehicles.find(&group.value).is_some() || group.value == "all" {
                let what = if group.value == "all" { "every vehicle" } else { "a vehicle" };
                cx.bad(group.span, format!("`{}` is {what}: a group of {id} needs another name", group.value));
                continue;
            }
            if !crate::parse::shape::is_id(&group.value) {
                cx.push(crate::parse::shape::bad_id(group.span, "group", &group.value));
                continue;
            }
            members.entry(group.value.clone()).or_default().insert(ix);
        }
    }
    for (group, set) in members {
        base.groups.insert(group, set);
    }
}

/// Fault codes.
pub fn codes(cx: &mut Cx<'_>, tree: Option<&Node>, base: &mut Base) {
    let mut upper: std::collections::BTreeMap<String, crate::source::Span> = std::collections::BTreeMap::new();
    for entry in rows(tree) {
        make_room(&mut cx.out);
        let id = entry.key.value.as_str();
        let own_form = plain(&entry.value, "own-form").as_deref() == Some("yes");
        if own_form && !is_own_form(id) {
            cx.bad(
                entry.key.span,
                format!("`{id}` can't name a fault code: expected letters, digits, `.`, `_`, `-`, at most 32, and not `index`"),
            );
            continue;
        }
        if !own_form && !is_fault_code(id) {
            let finding = cx.bad(
                entry.key.span,
                format!("`{id}` is no fault code: expected P, C, B or U, a digit 0 to 3, and three hexadecimal digits"),
            );
            let better = id.to_ascii_uppercase();
            if is_fault_code(&better) {
                finding.help.push(format!("write `{better}`"));
            } else if is_own_form(id) {
                finding.help.push("if it is the maker's own code, add `own-form: yes`".into());
            }
            continue;
        }
        if let Some(first) = upper.insert(id.to_ascii_uppercase(), entry.key.span) {
            if cx.loaded.sources.text(first) != id {
                cx.push(
                    Finding::new("duplicate-id", Level::Error, entry.key.span, format!("code `{id}` stands twice"))
                        .label(first, "first here"),
                );
            }
            continue;
        }
        let trips = whole(&entry.value, "trips").map_or(1, |t| t.value);
        base.codes.insert(
            id,
            Code { place: place(entry), title: title(entry), trips, monitor: plain(&entry.value, "monitor"), own_form },
        );
    }
}

/// The standard form of a fault code: `[PCBU][0-3][0-9A-F]{3}` (SAE J2012 / ISO 15031-6), 65,536 in all.
pub fn is_fault_code(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.len() == 5
        && b"PCBU".contains(&bytes[0])
        && (b'0'..=b'3').contains(&bytes[1])
        && bytes[2..].iter().all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(b))
}

/// A maker's own form: `[A-Za-z0-9._-]`, at most 32, not starting with a dot.
fn is_own_form(text: &str) -> bool {
    (1..=32).contains(&text.len())
        // The page of all codes has this name.
        && !text.eq_ignore_ascii_case("index")
        && !text.starts_with('.')
        && text.bytes().all(|b| b.is_ascii_alphanumeric() || b"._-".contains(&b))
}

/// Terms.
pub fn terms(tree: Option<&Node>, base: &mut Base) {
    for entry in rows(tree) {
        base.terms.insert(
            entry.key.value.clone(),
            Term {
                place: place(entry),
                title: title(entry),
                also: plains(&entry.value, "also"),
                means: plain(&entry.value, "means"),
            },
        );
    }
}
