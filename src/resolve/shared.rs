//! `systems/`, `checks/`, `repairs/`: one file each.
//!
//! In: the front matter and Markdown of each file. Out: rows in the base.

use super::cx::{Cx, list, number, text, texts, whole};
use super::test_keys::{Choice, kind, shared};
use super::way;
use crate::model::{AfterRepair, Base, Changes, Check, Confirm, FactKey, Place, Repair, System};
use crate::parse::keys::{CONFIRMS, REPAIR};
use crate::parse::page::Page;
use crate::parse::shape::misspelt;
use crate::parse::yaml::Node;
use crate::source::Spanned;

/// The title of a file: its key, the first `#` heading, or its id.
fn title(page: &Page, id: &str) -> String {
    page.tree
        .as_ref()
        .and_then(|t| super::cx::plain(t, "title"))
        .or_else(|| page.body.title.clone())
        .unwrap_or_else(|| id.to_owned())
}

/// A system.
pub fn system(cx: &mut Cx<'_>, id: &str, place: Place, page: &Page, base: &mut Base) {
    let hazards = page.tree.as_ref().map_or_else(Vec::new, |tree| {
        cx.names(tree, "hazards", &base.hazards, "hazard", base.broken.contains("hazards.yaml"))
    });
    base.systems.insert(id, System { place, title: title(page, id), hazards });
}

/// A shared check. It never holds results; its `without` can only be an ending.
pub fn check(cx: &mut Cx<'_>, id: &str, place: Place, page: &Page, base: &mut Base) {
    let Some(tree) = &page.tree else { return };
    let Some(Choice::Own(kind)) = kind(cx, tree, place.key, "a check", &["measure", "observe", "do"], base) else {
        return;
    };
    let without = tree.entry("without").and_then(|e| way::ending_of_check(cx, e, base));
    let check = Check {
        place,
        title: title(page, id),
        kind,
        shared: shared(cx, tree, base),
        without,
        changes: changes(cx, tree, base),
        body: page.body.range,
    };
    base.checks.insert(id, check);
}

/// `changes` of a check: specs, or `all` (its steps are not known here).
fn changes(cx: &mut Cx<'_>, tree: &Node, base: &Base) -> Changes {
    let names = texts(tree, "changes");
    let span = tree.entry("changes").map(|e| e.key.span);
    if names.iter().any(|n| n.value == "all") {
        return Changes { all: true, keys: Vec::new(), span };
    }
    let broken = base.broken.contains("specs");
    let keys = names
        .iter()
        .filter_map(|n| Some(Spanned::new(FactKey::Spec(cx.find(n, &base.specs, "spec", broken)?), n.span)))
        .collect();
    Changes { all: false, keys, span }
}

/// A shared repair.
pub fn repair(cx: &mut Cx<'_>, id: &str, place: Place, page: &Page, base: &mut Base) {
    let Some(tree) = &page.tree else { return };
    let after = after(cx, tree, base);
    let repair = Repair {
        place,
        title: title(page, id),
        with: cx.equipment(tree, "with", base),
        minutes: number(tree, "minutes").map(|m| m.value),
        hazards: cx.names(tree, "hazards", &base.hazards, "hazard", base.broken.contains("hazards.yaml")),
        after,
        undo: text(tree, "undo"),
        body: page.body.range,
    };
    base.repairs.insert(id, repair);
}

fn after(cx: &mut Cx<'_>, tree: &Node, base: &Base) -> AfterRepair {
    let mut confirm = Vec::new();
    for row in tree.get("confirm").map(Node::as_list).unwrap_or_default() {
        let Some(result) = text(row, "if") else { continue };
        match (text(row, "step"), text(row, "check")) {
            (Some(step), None) => confirm.push(Confirm::Named { step, result }),
            (None, Some(name)) => {
                if let Some(check) = cx.find(&name, &base.checks, "check", false) {
                    confirm.push(Confirm::Check { check: Spanned::new(check, name.span), result });
                }
            }
            _ => one_of(cx, row),
        }
    }
    AfterRepair {
        span: tree.entry("confirm").map(|e| e.key.span),
        confirm_named: super::confirm::confirms(tree, &REPAIR),
        confirm,
        clear_codes: text(tree, "codes").is_some(),
        trips: whole(tree, "trips"),
        trips_unread: misspelt(tree, &REPAIR, "trips"),
    }
}

/// A line of `confirm` that names neither or both.
pub fn one_of(cx: &mut Cx<'_>, row: &Node) {
    if ["step", "check"].iter().any(|key| misspelt(row, &CONFIRMS, key)) {
        return;
    }
    cx.bad(row.span, format!("a line of `confirm` names one of {}", list(&["step", "check"])));
}
