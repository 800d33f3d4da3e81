//! `shop.yaml`.
//!
//! In: its tree. Out: [`Shop`](crate::model::Shop).

use super::title;
use crate::finding::Level;
use crate::model::{Base, Bay};
use crate::parse::yaml::Node;
use crate::quantity::Unit;
use crate::resolve::cx::{Cx, number, plain, quantity_named};
use crate::source::Spanned;

/// Reads the shop's settings.
pub fn shop(cx: &mut Cx<'_>, tree: Option<&Node>, base: &mut Base) {
    let Some(tree) = tree else { return };
    if let Some(title) = plain(tree, "title") {
        base.shop.title = title;
    }
    base.shop.currency = plain(tree, "currency").unwrap_or_default();
    base.shop.labour_rate = number(tree, "labour-rate").map(|n| n.value);
    base.shop.default_minutes = number(tree, "default-minutes").map(|n| n.value);
    base.shop.feedback = plain(tree, "feedback");
    if let Some(address) = tree.get("feedback").and_then(Node::spanned).filter(|text| !is_mail(&text.value)) {
        let told = format!("expected a mail address for `feedback`, found `{}`", address.value);
        cx.bad(address.span, told).help.push("write `NAME@PLACE`, or take the line out".into());
    }
    for entry in tree.get("units").map(Node::entries).unwrap_or_default() {
        let Some(quantity) = quantity_named(cx, &entry.key) else { continue };
        let Some(symbol) = entry.value.spanned() else { continue };
        match Unit::find(&symbol.value, quantity.value) {
            Ok(unit) => base.shop.units.push((quantity.value, unit.symbol().to_owned())),
            Err(_) => {
                let units: Vec<&str> = Unit::common_of(quantity.value).into_iter().map(Unit::symbol).collect();
                cx.push(
                    crate::finding::Finding::new(
                        "wrong-unit",
                        Level::Error,
                        symbol.span,
                        format!("expected a unit of {}, found `{}`", quantity.value.name(), symbol.value),
                    )
                    .help(format!("units: {}", units.join(", "))),
                );
            }
        }
    }
    for entry in tree.get("bays").map(Node::entries).unwrap_or_default() {
        let broken = base.broken.contains("equipment.yaml");
        let has = cx.names(&entry.value, "has", &base.equipment, "instrument", broken);
        let has = has.into_iter().map(|h| h.value).collect();
        base.shop.bays.insert(entry.key.value.clone(), Bay { title: title(entry), has });
    }
    for entry in tree.get("rules").map(Node::entries).unwrap_or_default() {
        let level = entry.value.as_text().and_then(Level::from_name);
        if let (Some((rule, strongest)), Some(level)) = (rule(cx, &entry.key), level) {
            base.shop.levels.set(rule, level, strongest);
        }
    }
}

/// The rule of a name, or an `unresolved-name`.
pub fn rule(cx: &mut Cx<'_>, name: &Spanned<String>) -> Option<(&'static str, Level)> {
    let found = cx.rules.iter().find(|(rule, _)| *rule == name.value).copied();
    if found.is_none() {
        let rules: Vec<&str> = cx.rules.iter().map(|r| r.0).collect();
        cx.not_one_of(name, rules, "rule", "`ruleout why` lists the rules".to_owned());
    }
    found
}

/// Whether something stands on both sides of an `@`.
fn is_mail(text: &str) -> bool {
    let stands = |c: char| !c.is_whitespace();
    let sides: Vec<&str> = text.split('@').collect();
    sides.windows(2).any(|pair| pair[0].ends_with(stands) && pair[1].starts_with(stands))
}
